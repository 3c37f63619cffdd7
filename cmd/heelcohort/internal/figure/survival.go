package figure

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
	"heelcohort/stats"
)

// survival is the survival figure of a time-to-event analysis.
func (s *source) survival() (plots.Survival, error) {
	curves, table := s.held(s.part("curve", "survival")), s.part("risk-table", "at risk")
	if len(curves) == 0 {
		return plots.Survival{}, fmt.Errorf("%w: no rows of a curve", plots.ErrNoData)
	}
	f := plots.Survival{Title: s.Title, XLabel: "Time", YLabel: "Without the event", Note: s.survivalNote(curves)}
	if unit := s.timeUnit(); unit != "" {
		f.XLabel += " (" + unit + ")"
	}
	ticks, tabled := curveTicks(table, curves)
	f.Ticks = ticks
	for _, g := range s.groups(append(slices.Clone(table), curves...)) {
		c := plots.SurvivalCurve{Name: s.groupName(g), Curve: curve(rowsOf(curves, g))}
		if tabled {
			c.AtRisk, c.Events, c.Censored = counts(rowsOf(table, g), f.Ticks)
		}
		f.Curves = append(f.Curves, c)
	}
	return f, nil
}

// held are the rows of curves with the limits that hold the whole curve in
// place of those of each point, where the analysis has them.
func (s *source) held(curves []result.Row) []result.Row {
	band := s.part("band", "survival")
	if len(band) == 0 {
		return curves
	}
	out := slices.Clone(curves)
	for i := range out {
		out[i].Lower, out[i].Upper = result.None(), result.None()
		for _, r := range band {
			if r.At == out[i].At && slices.Equal(r.Groups, out[i].Groups) {
				out[i].Lower, out[i].Upper = r.Lower, r.Upper
			}
		}
	}
	return out
}

// curveTicks are the times of the table of numbers at risk, or round ones where
// the rows have no table.
func curveTicks(table, curves []result.Row) (ticks []float64, tabled bool) {
	if ticks = times(table); len(ticks) > 0 {
		return ticks, true
	}
	return roundTicks(times(curves)), false
}

// drawSurvival draws the figure.
func drawSurvival(f plots.Survival, err error) (*plots.Figure, error) {
	if err != nil {
		return nil, err
	}
	return thinned(&f.Ticks, func() (*plots.Figure, error) { return f.Draw() }, func() {
		for i := range f.Curves {
			c := &f.Curves[i]
			c.AtRisk, c.Events, c.Censored = halved(c.AtRisk), halved(c.Events), halved(c.Censored)
		}
	})
}

// thinned draws a figure; while its ticks stand too close for their numbers,
// every second of them gives way, with its numbers.
func thinned(ticks *[]float64, draw func() (*plots.Figure, error), halve func()) (*plots.Figure, error) {
	for {
		figure, err := draw()
		if !errors.Is(err, plots.ErrNoRoom) || len(*ticks) < 4 {
			return figure, err
		}
		*ticks = halved(*ticks)
		halve()
	}
}

// survivalNote says what the bands are and what the tests found.
func (s *source) survivalNote(curves []result.Row) string {
	var parts []string
	for _, r := range curves {
		if r.Level.Present() && (r.Lower.Present() || r.Upper.Present()) {
			how := "pointwise "
			if bands := s.Setting("bands"); bands != "" {
				how = "of the whole curve (" + bands + ") "
			}
			parts = append(parts, "Bands: "+how+printed.Level(float64(r.Level))+".")
			break
		}
	}
	gaps := map[string]int{}
	for _, r := range curves {
		if !r.Estimate.Present() {
			gaps[absent(r)]++
		}
	}
	if n := gapNote(gaps); n != "" {
		parts = append(parts, n)
	}
	for _, r := range s.part("tests", "") {
		if !r.P.Present() {
			continue
		}
		name := printed.TestName(r.Measure)
		text := name + ":"
		if r.Statistic.Present() {
			text += " statistic " + printed.Fixed(float64(r.Statistic), 2) + ","
		}
		if r.DF.Present() {
			text += " " + plain(float64(r.DF)) + " df,"
		}
		parts = append(parts, text+" P "+printed.Relation(float64(r.P))+".")
	}
	return strings.Join(parts, " ")
}

// timeUnit is the unit of time, as the rows of times and quantiles give it.
func (s *source) timeUnit() string {
	for _, part := range []string{"quantile", "at", "curve", "risk-table"} {
		for _, r := range s.part(part, "") {
			if r.Unit != "" {
				return r.Unit
			}
		}
	}
	return ""
}

// groups lists the groups of rows, in the order of the variable's levels.
func (s *source) groups(rows []result.Row) [][]result.Group {
	var list [][]result.Group
	for _, r := range rows {
		if !slices.ContainsFunc(list, func(g []result.Group) bool { return slices.Equal(g, r.Groups) }) {
			list = append(list, r.Groups)
		}
	}
	order := func(g []result.Group) int {
		if len(g) == 0 {
			return -1
		}
		levels := s.Described(g[0].Variable).Levels
		if i := slices.IndexFunc(levels, func(l result.Level) bool { return l.Value == g[0].Level }); i >= 0 {
			return i
		}
		return len(levels)
	}
	slices.SortStableFunc(list, func(a, b []result.Group) int { return cmp.Compare(order(a), order(b)) })
	if len(list) > 1 && len(list[0]) == 0 { // over all, beside groups
		list = list[1:]
	}
	return list
}

// groupName is the name of a curve; over all it has none.
func (s *source) groupName(groups []result.Group) string {
	labels := make([]string, len(groups))
	for i, g := range groups {
		labels[i] = s.LevelLabel(g.Variable, g.Level)
	}
	return strings.Join(labels, ", ")
}

// rowsOf lists the rows of a group by time.
func rowsOf(rows []result.Row, group []result.Group) []result.Row {
	var list []result.Row
	for _, r := range rows {
		if slices.Equal(r.Groups, group) && r.At.Present() {
			list = append(list, r)
		}
	}
	slices.SortStableFunc(list, func(a, b result.Row) int { return cmp.Compare(a.At, b.At) })
	return list
}

// curve is the curve of the rows of one group.
func curve(rows []result.Row) stats.Curve {
	var c stats.Curve
	for _, r := range rows {
		c.Time = append(c.Time, float64(r.At))
		c.AtRisk = append(c.AtRisk, whole(r.N))
		c.Events = append(c.Events, whole(r.Events))
		c.Censored = append(c.Censored, whole(r.Censored))
		c.Survival = append(c.Survival, float64(r.Estimate))
		c.SE = append(c.SE, float64(r.SE))
		c.Lower = append(c.Lower, float64(r.Lower))
		c.Upper = append(c.Upper, float64(r.Upper))
	}
	return c
}

// counts are the numbers of the table at the ticks; one that no row has is
// negative, which the figure shows as a dash.
func counts(rows []result.Row, ticks []float64) (atRisk, events, censored []int) {
	for _, t := range ticks {
		risk, event, gone := -1, -1, -1
		for _, r := range rows {
			if float64(r.At) == t {
				risk, event, gone = whole(r.N), whole(r.Events), whole(r.Censored)
				if !r.N.Present() {
					risk = whole(r.Estimate)
				}
			}
		}
		atRisk, events, censored = append(atRisk, risk), append(events, event), append(censored, gone)
	}
	return atRisk, events, censored
}

// whole is a count as an int, −1 when it is absent.
func whole(n result.Number) int {
	if !n.Present() || float64(n) > 1e15 || n < 0 {
		return -1
	}
	return int(n)
}

// times lists the distinct times of rows in order.
func times(rows []result.Row) []float64 {
	var list []float64
	for _, r := range rows {
		if r.At.Present() {
			list = append(list, float64(r.At))
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// roundTicks are about five round times from 0 to the last of the times.
func roundTicks(times []float64) []float64 {
	if len(times) == 0 || times[len(times)-1] <= 0 {
		return []float64{0}
	}
	last := times[len(times)-1]
	step := 1.0
	for step*5 < last {
		step *= 10
	}
	for step*5 > last*10 {
		step /= 10
	}
	for _, m := range []float64{0.1, 0.2, 0.5} {
		if step*m*6 >= last {
			step *= m
			break
		}
	}
	ticks := []float64{0}
	for i := 1; float64(i)*step <= last*(1+1e-9); i++ {
		ticks = append(ticks, float64(i)*step)
	}
	return ticks
}

// halved keeps every second element, the first among them.
func halved[T any](list []T) []T {
	var kept []T
	for i, x := range list {
		if i%2 == 0 {
			kept = append(kept, x)
		}
	}
	return kept
}
