package stats

import (
	"math"
	"math/rand/v2"
	"slices"
)

// randomRiskWalk is a random child: rows that overlap, have no group or no
// days, onsets on the days on which something else begins or ends, heels that
// are not known, episodes without an end.
func randomRiskWalk(r *rand.Rand) riskWalk {
	w := riskWalk{first: r.IntN(2) == 0, spells: r.IntN(3) > 0, gap: []int{0, 1, 14, 28}[r.IntN(4)], heels: 2 * r.IntN(2)}
	var ends []int
	for range r.IntN(5) {
		row := walkRow{from: r.IntN(200) - 30, group: r.IntN(4) - 1, amount: float64(r.IntN(400)) / 4}
		row.to = row.from + r.IntN(120)
		if r.IntN(3) == 0 {
			row.amount = math.NaN()
		}
		w.rows = append(w.rows, row)
		ends = append(ends, row.from, row.to)
	}
	for range r.IntN(5) {
		e := walkEpisode{onset: r.IntN(260) - 50, group: r.IntN(4) - 1, heel: r.IntN(2)}
		if len(ends) > 0 && r.IntN(3) == 0 {
			e.onset = ends[r.IntN(len(ends))]
		}
		if len(w.rows) > 0 && r.IntN(3) > 0 {
			e.group = w.rows[r.IntN(len(w.rows))].group
		}
		e.end = e.onset + r.IntN(40)
		switch {
		case r.IntN(6) == 0:
			e.end = forever
		case w.heels > 0 && r.IntN(8) == 0:
			e.heel = -1
		}
		ends = append(ends, e.onset)
		if e.end != forever {
			ends = append(ends, e.end, e.end+w.gap)
		}
		w.episodes = append(w.episodes, e)
	}
	bounds := func() []int {
		var list []int
		for range 2 + r.IntN(3) {
			list = append(list, r.IntN(300)-60)
		}
		slices.Sort(list)
		if r.IntN(2) == 0 {
			list[len(list)-1] = forever
		}
		return list
	}
	if r.IntN(3) > 0 {
		w.ages = bounds()
	}
	if r.IntN(3) > 0 {
		w.calendar = bounds()
	}
	if r.IntN(3) == 0 {
		w.from = r.IntN(150) - 20
		w.to = w.from + 1 + r.IntN(200)
	}
	return w
}

// child is the walk for the engine.
func (w *riskWalk) child(step float64) (Child, RiskRules) {
	day := func(tick int) float64 {
		if tick == forever {
			return math.Inf(1)
		}
		return float64(tick) * step
	}
	var c Child
	for _, r := range w.rows {
		c.Observed = append(c.Observed, Observed{Interval{day(r.from), day(r.to), r.amount}, r.group})
	}
	for _, e := range w.episodes {
		end := day(e.end)
		if e.end == forever {
			end = math.NaN()
		}
		c.Episodes = append(c.Episodes, Episode{day(e.onset), end, e.group, e.heel})
	}
	for _, a := range w.ages {
		c.Ages = append(c.Ages, day(a))
	}
	for _, s := range w.calendar {
		c.Calendar = append(c.Calendar, day(s))
	}
	return c, RiskRules{First: w.first, Spells: w.spells, Gap: day(w.gap), Heels: w.heels, Window: Interval{From: day(w.from), To: day(w.to)}}
}
