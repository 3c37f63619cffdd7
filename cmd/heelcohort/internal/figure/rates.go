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

// rates is the rate plot of an incidence analysis: by one variable, or by two,
// of which the one with bands of numbers is the x axis.
func (s *source) rates() (plots.Rates, error) {
	rows := s.part("rates", "incidence rate")
	x, series := s.axes(rows)
	if x == "" {
		return plots.Rates{}, fmt.Errorf("%w: no rate has a group", plots.ErrNoData)
	}
	var groups, names []string
	at := map[[2]string]result.Row{}
	var drawn []result.Row
	for _, r := range rows {
		xLevel, seriesLevel, ok := place(r, x, series)
		if !ok {
			continue
		}
		groups, names = append(groups, xLevel), append(names, seriesLevel)
		at[[2]string{xLevel, seriesLevel}] = r
		drawn = append(drawn, r)
	}
	groups, names = s.levels(x, unique(groups)), s.levels(series, unique(names))

	f := plots.Rates{Title: s.Title, XLabel: s.label(x), YLabel: "Rate"}
	gaps := map[string]int{}
	for _, g := range groups {
		f.Groups = append(f.Groups, s.LevelLabel(x, g))
	}
	for _, n := range names {
		line := plots.RateSeries{}
		if series != "" {
			line.Name = s.LevelLabel(series, n)
		}
		for _, g := range groups {
			r, ok := at[[2]string{g, n}]
			e := stats.Estimate{Value: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
			if ok {
				e = estimate(r)
			}
			if math.IsNaN(e.Value) {
				gaps[absent(r)]++
			}
			line.Estimates = append(line.Estimates, e)
		}
		f.Series = append(f.Series, line)
	}
	for _, r := range drawn {
		if r.Unit != "" {
			f.YLabel += " " + r.Unit
			break
		}
	}
	f.YLabel += confidence(drawn)
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
