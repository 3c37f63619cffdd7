package verdict

import (
	"math"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// compared lists the ways to make the limits of a row that compares two groups
// whose counts stand in rows of the same analysis.
func (ix *index) compared(r *result.Row) (list []limiter) {
	one, zero := ix.pair(r)
	if one == nil || zero == nil {
		return nil
	}
	if r.Measure == "rate ratio" {
		return rateRatios(one, zero)
	}
	events1, n1, ok1 := counts(one)
	events0, n0, ok0 := counts(zero)
	if !ok1 || !ok0 {
		return nil
	}
	type table = func(a, b, c, d int, opts stats.LimitOptions) (stats.Estimate, error)
	var methods []struct {
		name string
		make table
	}
	add := func(name string, make table) {
		methods = append(methods, struct {
			name string
			make table
		}{name, make})
	}
	switch r.Measure {
	case "odds ratio":
		add("Woolf's limits", stats.OddsRatio)
		add("score limits", stats.OddsRatioScore)
		add("exact conditional limits", stats.OddsRatioExact)
		add("mid-P conditional limits", stats.OddsRatioMidP)
	case "risk ratio", "prevalence ratio":
		add("Katz's limits on the log scale", stats.RiskRatio)
		add("Koopman's score limits", stats.RiskRatioScore)
	case "risk difference", "prevalence difference":
		add("Newcombe's limits", stats.RiskDifference)
		add("score limits", stats.RiskDifferenceScore)
		add("Wald's limits", func(a, b, c, d int, opts stats.LimitOptions) (e stats.Estimate, err error) {
			p1, p0 := float64(a)/float64(a+b), float64(c)/float64(c+d)
			w := quantile(opts.Level) * math.Sqrt(p1*(1-p1)/float64(a+b)+p0*(1-p0)/float64(c+d))
			e.Lower, e.Upper = p1-p0-w, p1-p0+w
			return e, nil
		})
	}
	for _, m := range methods {
		list = append(list, limiter{m.name, func(_ *result.Row, level float64) (float64, float64, bool) {
			e, err := m.make(events1, n1-events1, events0, n0-events0, stats.LimitOptions{Level: level})
			return e.Lower, e.Upper, err == nil
		}})
	}
	return list
}

// rateRatios lists the methods of limits of a ratio of two rates.
func rateRatios(one, zero *result.Row) (list []limiter) {
	events1, pt1, _, ok1 := rateIn(one)
	events0, pt0, _, ok0 := rateIn(zero)
	if !ok1 || !ok0 {
		return nil
	}
	for _, m := range []struct {
		name   string
		method stats.RateRatioMethod
	}{
		{"exact conditional limits", stats.RatioExact},
		{"mid-P conditional limits", stats.RatioMidP},
		{"score limits", stats.RatioScore},
		{"limits on the log scale", stats.RatioLog},
	} {
		list = append(list, limiter{m.name, func(_ *result.Row, level float64) (float64, float64, bool) {
			e, err := stats.RateRatio(events1, pt1, events0, pt0, stats.RateRatioOptions{Level: level, Method: m.method})
			return e.Lower, e.Upper, err == nil
		}})
	}
	return list
}

// pair finds the rows of the two groups that a row compares: its level and its
// reference among the rows of counts, rates or proportions of the analysis.
func (ix *index) pair(r *result.Row) (one, zero *result.Row) {
	a := ix.kinds[r.Analysis]
	if a == nil || r.Variable == "" || r.Part != "crude" && r.Part != "ratios" && r.Part != "differences" {
		return nil, nil
	}
	level, reference, ok := a.LevelOf(r, r.Variable)
	if !ok {
		return nil, nil
	}
	find := func(level string) *result.Row {
		for _, o := range ix.analysis[r.Analysis] {
			if o.Part == "counts" && o.Variable == r.Variable && o.Term == level && len(o.Groups) == 0 && !strings.Contains(o.Measure, "ratio") {
				return o
			}
			if o.Part == "rates" && o.Measure == "incidence rate" && o.Variable == "" && holds(o, r.Groups, result.Group{Variable: r.Variable, Level: level}) {
				return o
			}
		}
		return nil
	}
	if reference == "" {
		reference = a.Reference(r.Variable, "", func(level string) bool {
			for _, o := range ix.analysis[r.Analysis] {
				if o.Part == r.Part && o.Measure == r.Measure && o.Variable == r.Variable && o.Term == level {
					return true
				}
			}
			return false
		})
	}
	if reference == "" {
		return nil, nil
	}
	return find(level), find(reference)
}

// holds reports whether a row's groups are those given and one more.
func holds(o *result.Row, groups []result.Group, more result.Group) bool {
	if len(o.Groups) != len(groups)+1 {
		return false
	}
	for _, g := range append(append([]result.Group{}, groups...), more) {
		found := false
		for _, h := range o.Groups {
			found = found || g == h
		}
		if !found {
			return false
		}
	}
	return true
}
