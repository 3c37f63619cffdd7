package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A second implementation of AtRisk that shares no code with it: it walks
// through every child tick by tick and asks of each tick what it is. Days are
// counted in ticks of a day, or of a quarter.

// A riskWalk is a child in whole ticks.
type riskWalk struct {
	rows           []walkRow
	episodes       []walkEpisode
	ages, calendar []int // forever: no end
	first, spells  bool
	gap, heels     int
	from, to       int // window; equal: none
}

type walkRow struct {
	from, to, group int
	amount          float64 // NaN: the days
}

type walkEpisode struct{ onset, end, group, heel int } // end forever: unfinished

const (
	forever = math.MaxInt32
	walkLo  = -60
	walkHi  = 330
)

// A riskCell is a cell or, with −1, a margin.
type riskCell struct{ age, calendar, group int }

type riskTally struct {
	ticks, hours       map[riskCell]float64
	in, atRisk         [2]float64 // ticks, amount
	removed            [reasons][2]float64
	onsets             []Reason
	events             map[riskCell]int
	prevalent, earlier int
}

func riskMargins(c riskCell) []riskCell {
	var list []riskCell
	for _, a := range []int{c.age, -1} {
		for _, s := range []int{c.calendar, -1} {
			for _, g := range []int{c.group, -1} {
				list = append(list, riskCell{a, s, g})
			}
		}
	}
	return list
}

func walkBand(bounds []int, d int) int {
	if len(bounds) == 0 {
		return 0
	}
	for i := 0; i+1 < len(bounds); i++ {
		if bounds[i] <= d && d < bounds[i+1] {
			return i
		}
	}
	return -9
}

func (w *riskWalk) studied(d int) bool { return w.from == w.to || w.from <= d && d < w.to }

// own is the episodes of a heel.
func (w *riskWalk) own(heel int) []int {
	var list []int
	for i, e := range w.episodes {
		if w.heels == 0 || e.heel == heel {
			list = append(list, i)
		}
	}
	return list
}

func later(end, gap int) int {
	if end == forever {
		return forever
	}
	return end + gap
}

// why is what a tick is to a heel: Counted where it is at risk.
func (w *riskWalk) why(d, heel int, out Reason, stop int) Reason {
	switch {
	case !w.studied(d):
		return OutsideWindow
	case out != Counted:
		return out
	case d >= stop:
		return AfterFirst
	}
	if w.spells {
		within := false
		for _, i := range w.own(heel) {
			e := w.episodes[i]
			if e.onset <= d && d < e.end {
				return WithinEpisode
			}
			within = within || e.end <= d && d < later(e.end, w.gap)
		}
		if within {
			return WithinGap
		}
	}
	switch {
	case walkBand(w.ages, d) < 0:
		return OutsideAges
	case walkBand(w.calendar, d) < 0:
		return OutsideCalendar
	}
	return Counted
}

func (w *riskWalk) walk(step float64) riskTally {
	t := riskTally{ticks: map[riskCell]float64{}, hours: map[riskCell]float64{}, events: map[riskCell]int{}, onsets: make([]Reason, len(w.episodes))}
	for heel := range max(1, w.heels) {
		entry := forever
		for d := walkHi; d >= walkLo; d-- {
			for _, r := range w.rows {
				if r.group >= 0 && w.studied(d) && (r.from <= d && d < r.to || r.from == d && r.to == d) {
					entry = d
				}
			}
		}
		stop, out := w.judge(&t, heel, entry)
		for d := walkLo; d < walkHi; d++ {
			reason := w.why(d, heel, out, stop)
			seen := map[riskCell]bool{}
			whole, risk, best := false, false, Counted
			for _, r := range w.rows {
				day := r.from <= d && d < r.to
				if !day && (r.from != d || r.to != d) {
					continue
				}
				hours := r.amount
				if math.IsNaN(r.amount) {
					hours = step
					if !day {
						hours = 0
					}
				} else if day {
					hours = r.amount / float64(r.to-r.from)
				}
				whole = whole || day
				t.in[1] += hours
				mine := reason
				if mine != OutsideWindow && r.group < 0 {
					mine = GroupMissing
				}
				if mine != Counted {
					t.removed[mine][1] += hours
					if day {
						best = max(best, mine)
					}
					continue
				}
				t.atRisk[1] += hours
				risk = risk || day
				for _, c := range riskMargins(riskCell{walkBand(w.ages, d), walkBand(w.calendar, d), r.group}) {
					t.hours[c] += hours
					if day && !seen[c] {
						seen[c] = true
						t.ticks[c]++
					}
				}
			}
			switch {
			case risk:
				t.atRisk[0]++
				t.in[0]++
			case whole:
				t.removed[best][0]++
				t.in[0]++
			}
		}
	}
	for i, e := range w.episodes {
		if w.heels > 0 && e.heel < 0 {
			t.onsets[i] = HeelMissing
		}
		if t.onsets[i] == Counted {
			for _, c := range riskMargins(riskCell{walkBand(w.ages, e.onset), walkBand(w.calendar, e.onset), e.group}) {
				t.events[c]++
			}
		}
	}
	return t
}

// judge goes through the days of a heel and decides on each onset.
func (w *riskWalk) judge(t *riskTally, heel, entry int) (stop int, out Reason) {
	stop = forever
	own := w.own(heel)
	observed := func(e walkEpisode) bool {
		for _, r := range w.rows {
			if r.group >= 0 && r.group == e.group && r.from <= e.onset && e.onset <= r.to {
				return true
			}
		}
		return false
	}
	openAtEntry := func(e walkEpisode) bool { return w.spells && e.onset < entry && e.end > entry && entry != forever }
	had := false
	for d := walkLo - 200; d < walkHi+200; d++ {
		var today []int
		for _, i := range own {
			if w.episodes[i].onset == d {
				today = append(today, i)
			}
		}
		if len(today) == 0 {
			continue
		}
		inside, gap := false, false
		for _, i := range own {
			if e := w.episodes[i]; w.spells && e.onset < d {
				inside = inside || d < e.end
				gap = gap || d < later(e.end, w.gap)
			}
		}
		if inside || gap {
			for _, i := range today {
				t.onsets[i] = WithinGap
				if inside {
					t.onsets[i] = WithinEpisode
				}
			}
			continue
		}
		if w.first && had && entry != forever {
			for _, i := range today {
				t.onsets[i] = AfterFirst
			}
			continue
		}
		if w.first && entry != forever {
			had, stop = true, d
			if d < entry {
				out = EarlierEpisode
			}
		}
		pick := -1
		for _, i := range today {
			if pick < 0 && observed(w.episodes[i]) {
				pick = i
			}
		}
		if pick < 0 {
			pick = today[0]
		}
		prevalent := false
		for _, i := range own { // of the spell that begins today
			e := w.episodes[i]
			prevalent = prevalent || openAtEntry(e) && w.spellOf(own, i) == d
		}
		for _, i := range today {
			e := w.episodes[i]
			switch {
			case entry == forever:
				t.onsets[i] = NoObservation
				if !w.studied(d) {
					t.onsets[i] = OutsideWindow
				}
			case i != pick && (w.spells || w.first):
				t.onsets[i] = SameDay
			case prevalent:
				t.onsets[i] = PrevalentAtEntry
			case !w.studied(d):
				t.onsets[i] = OutsideWindow
			case e.group < 0:
				t.onsets[i] = GroupMissing
			case !observed(e):
				t.onsets[i] = OutsideObservation
			case walkBand(w.ages, d) < 0:
				t.onsets[i] = OutsideAges
			case walkBand(w.calendar, d) < 0:
				t.onsets[i] = OutsideCalendar
			}
		}
	}
	if out != Counted {
		for _, i := range own {
			if openAtEntry(w.episodes[i]) {
				out = PrevalentAtEntry
			}
		}
		for _, i := range own {
			t.onsets[i] = out
		}
		if out == PrevalentAtEntry {
			t.prevalent++
		} else {
			t.earlier++
		}
	}
	return stop, out
}

// spellOf is the day on which the spell of an episode began: it goes back from
// the onset for as long as an earlier episode or its gap reaches the day.
func (w *riskWalk) spellOf(own []int, i int) int {
	day := w.episodes[i].onset
	for moved := true; moved; {
		moved = false
		for _, j := range own {
			if e := w.episodes[j]; e.onset < day && day < later(e.end, w.gap) {
				day, moved = e.onset, true
			}
		}
	}
	return day
}

// riskCells adds up the pieces and events of a child by cell and margin.
func riskCells(c Child, t RiskTime) (days map[riskCell]DayCount, hours map[riskCell]float64, events map[riskCell]int) {
	type heelCell struct {
		heel int
		riskCell
	}
	rows := map[heelCell][]Interval{}
	days, hours, events = map[riskCell]DayCount{}, map[riskCell]float64{}, map[riskCell]int{}
	for _, p := range t.Pieces {
		for _, m := range riskMargins(riskCell{p.Age, p.Calendar, p.Group}) {
			rows[heelCell{p.Heel, m}] = append(rows[heelCell{p.Heel, m}], p.Interval)
			hours[m] += p.Amount
		}
	}
	for m, intervals := range rows {
		days[m.riskCell] = days[m.riskCell].Plus(countDays(intervals))
	}
	for i, o := range t.Onsets {
		if o.Reason == Counted {
			for _, m := range riskMargins(riskCell{o.Age, o.Calendar, c.Episodes[i].Group}) {
				events[m]++
			}
		}
	}
	return days, hours, events
}

func checkRiskWalk(t *testing.T, w riskWalk, step float64) (used map[Reason]bool) {
	t.Helper()
	c, rules := w.child(step)
	got, want := AtRisk(c, rules), w.walk(step)
	used = map[Reason]bool{}
	same := func(what any, g Time, ticks, amount float64) {
		if g.Days != dayCount(ticks*step) || !near(g.Amount.Total(), amount, 1e-9) {
			t.Errorf("%v: %v days and %v, want %v and %v", what, g.Days.Days(), g.Amount.Total(), ticks*step, amount)
		}
	}
	same("in", got.In, want.in[0], want.in[1])
	same("at risk", got.AtRisk, want.atRisk[0], want.atRisk[1])
	sum := got.AtRisk
	for r, lost := range got.Removed {
		same(Reason(r), lost, want.removed[r][0], want.removed[r][1])
		sum.Add(lost)
		used[Reason(r)] = used[Reason(r)] || lost.Days != (DayCount{})
	}
	if sum.Days != got.In.Days || !near(sum.Amount.Total(), got.In.Amount.Total(), 1e-9) {
		t.Errorf("at risk and removed make %v, in are %v", sum, got.In)
	}
	for i, o := range got.Onsets {
		used[o.Reason] = true
		if o.Reason != want.onsets[i] {
			t.Errorf("onset %d is %v, want %v", i, o.Reason, want.onsets[i])
		}
	}
	if got.Excluded[PrevalentAtEntry] != want.prevalent || got.Excluded[EarlierEpisode] != want.earlier {
		t.Errorf("excluded %v, want %d and %d", got.Excluded, want.prevalent, want.earlier)
	}
	days, hours, events := riskCells(c, got)
	for age := -1; age < 4; age++ {
		for season := -1; season < 4; season++ {
			for group := -1; group < 3; group++ {
				m := riskCell{age, season, group}
				if days[m] != dayCount(want.ticks[m]*step) || !near(hours[m], want.hours[m], 1e-9) || events[m] != want.events[m] {
					t.Errorf("cell %v: %v days, %v, %d events; want %v, %v, %d", m, days[m].Days(), hours[m], events[m], want.ticks[m]*step, want.hours[m], want.events[m])
				}
			}
		}
	}
	if t.Failed() {
		t.Fatalf("child %+v", w)
	}
	return used
}

// TestAtRiskAgainstWalk compares 10,000 random children with the walk, to the
// day in every cell of age, season and group, its margins, and every reason.
func TestAtRiskAgainstWalk(t *testing.T) {
	n := 10000
	if testing.Short() {
		n = 1000
	}
	r := rand.New(rand.NewPCG(1912, 31))
	all := map[Reason]bool{}
	for i := range n {
		step := 1.0
		if i%4 == 0 {
			step = 0.25
		}
		for reason, used := range checkRiskWalk(t, randomRiskWalk(r), step) {
			all[reason] = all[reason] || used
		}
	}
	for _, reason := range Reasons() {
		if !all[reason] {
			t.Errorf("nothing was %v: the comparison does not reach it", reason)
		}
	}
}
