package figure

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
	"heelcohort/stats"
)

// A rateTable holds the rates of an incidence analysis by one variable, or by
// two, of which x is the one with bands of numbers.
type rateTable struct {
	x, series     string   // series is "" where the rates are by one variable
	groups, names []string // the levels of x and of series
	at            map[[2]string]result.Row
	drawn         []result.Row
}

// rateTable sorts the rates by their levels.
func (s *source) rateTable() (rateTable, error) {
	rows := s.part("rates", "incidence rate")
	t := rateTable{at: map[[2]string]result.Row{}}
	t.x, t.series = s.axes(rows)
	if t.x == "" {
		return t, fmt.Errorf("%w: no rate has a group", plots.ErrNoData)
	}
	for _, r := range rows {
		xLevel, seriesLevel, ok := place(r, t.x, t.series)
		if !ok {
			continue
		}
		t.groups, t.names = append(t.groups, xLevel), append(t.names, seriesLevel)
		t.at[[2]string{xLevel, seriesLevel}] = r
		t.drawn = append(t.drawn, r)
	}
	t.groups, t.names = s.levels(t.x, unique(t.groups)), s.levels(t.series, unique(t.names))
	return t, nil
}

// labels are the labels of levels of a variable.
func (s *source) labels(variable string, levels []string) []string {
	var labels []string
	for _, l := range levels {
		labels = append(labels, s.LevelLabel(variable, l))
	}
	return labels
}

// rateSeries are the rates, a series a level of the second variable, and how
// many are absent by reason.
func (s *source) rateSeries(t rateTable) (series []plots.RateSeries, gaps map[string]int) {
	gaps = map[string]int{}
	for _, n := range t.names {
		line := plots.RateSeries{}
		if t.series != "" {
			line.Name = s.LevelLabel(t.series, n)
		}
		for _, g := range t.groups {
			r, ok := t.at[[2]string{g, n}]
			e := stats.Estimate{Value: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
			if ok {
				e = estimate(r)
			}
			if math.IsNaN(e.Value) {
				gaps[absent(r)]++
			}
			line.Estimates = append(line.Estimates, e)
		}
		series = append(series, line)
	}
	return series, gaps
}

// rateLabel is "Rate" with the unit of the rows.
func rateLabel(rows []result.Row) string {
	for _, r := range rows {
		if r.Unit != "" {
			return "Rate " + r.Unit
		}
	}
	return "Rate"
}

// rates is the rate plot of an incidence analysis.
func (s *source) rates() (plots.Rates, error) {
	t, err := s.rateTable()
	if err != nil {
		return plots.Rates{}, err
	}
	f := plots.Rates{Title: s.Title, XLabel: s.label(t.x), YLabel: rateLabel(t.drawn) + confidence(t.drawn), Groups: s.labels(t.x, t.groups)}
	var gaps map[string]int
	f.Series, gaps = s.rateSeries(t)
	f.Note = gapNote(gaps)
	return f, nil
}

// axes are the variables of the x axis and of the series; series is "" when
// the rates are by one variable alone.
func (s *source) axes(rows []result.Row) (x, series string) {
	var by []string
	paired := false
	for _, r := range rows {
		paired = paired || len(r.Groups) == 2
		for _, g := range r.Groups {
			if !slices.Contains(by, g.Variable) {
				by = append(by, g.Variable)
			}
		}
	}
	switch {
	case len(by) == 0:
		return "", ""
	case len(by) == 1 || !paired:
		return by[0], ""
	case !s.banded(by[0]) && s.banded(by[1]):
		return by[1], by[0]
	}
	return by[0], by[1]
}

// place returns the levels that a rate stands at, and whether it belongs to
// the figure.
func place(r result.Row, x, series string) (xLevel, seriesLevel string, ok bool) {
	want := 1
	if series != "" {
		want = 2
	}
	if len(r.Groups) != want {
		return "", "", false
	}
	found := 0
	for _, g := range r.Groups {
		switch g.Variable {
		case x:
			xLevel = g.Level
			found++
		case series:
			seriesLevel = g.Level
			found++
		}
	}
	return xLevel, seriesLevel, found == want
}

var bandStart = regexp.MustCompile(`^(?:\[|\(|<|≤|>|≥|<=|>=|(?i:under|over|below|from|up to))?\s*(-?\d+(?:\.\d+)?)`)

// banded reports whether the levels of a variable are bands of numbers in
// order, as ages are: "6 to 7", "8 to 9", "≥ 10".
func (s *source) banded(variable string) bool {
	levels := s.Described(variable).Levels
	for _, of := range []func(result.Level) string{
		func(l result.Level) string { return l.Label },
		func(l result.Level) string { return l.Value },
	} {
		ordered, last := len(levels) > 1, math.Inf(-1)
		for _, l := range levels {
			m := bandStart.FindStringSubmatch(strings.TrimSpace(strings.ReplaceAll(of(l), "−", "-")))
			if m == nil {
				ordered = false
				break
			}
			// "<10" and "10 to 12" may begin with the same number.
			start, err := strconv.ParseFloat(m[1], 64)
			ordered = ordered && err == nil && start >= last
			last = start
		}
		if ordered {
			return true
		}
	}
	return false
}

// gapNote says how many estimates are not drawn, and why.
func gapNote(gaps map[string]int) string {
	var parts []string
	for _, why := range []string{"suppressed", "not estimable"} {
		if n := gaps[why]; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, why))
		}
	}
	if parts == nil {
		return ""
	}
	return "Not drawn: " + strings.Join(parts, ", ") + "."
}

// unique drops repeated texts.
func unique(texts []string) []string {
	var out []string
	for _, t := range texts {
		if !slices.Contains(out, t) {
			out = append(out, t)
		}
	}
	return out
}
