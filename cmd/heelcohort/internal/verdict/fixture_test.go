package verdict

import (
	"math"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// The counts of an invented study: children of two arch types, their pain with
// missing answers, both of their heels, their episodes in hours of two sports,
// and an adjusted model given by its estimate and standard error. The script
// that made testdata/planted.csv holds the same counts.
var (
	children = map[string][3]int{"normal": {268, 254, 54}, "pronated": {144, 135, 43}} // rows, with an answer, in pain
	heels    = map[string][2]int{"normal": {531, 76}, "pronated": {283, 69}}
	sports   = map[string]struct {
		events int
		hours  float64
	}{"football": {118, 65190.5}, "swimming": {31, 41772}}
)

// fixture is the study's results, made by package stats.
func fixture(t testing.TB) *result.Results {
	t.Helper()
	res := &result.Results{Computed: true}
	analysis := func(id, kind, unit string, variables ...result.Variable) {
		res.Analyses = append(res.Analyses, result.Analysis{ID: id, Kind: kind, Title: id, Unit: unit, Variables: variables})
	}
	add := func(r result.Row) { res.Rows = append(res.Rows, r) }
	arch := result.Variable{Name: "arch", Label: "Arch", Levels: []result.Level{{Value: "normal", Label: "Normal"}, {Value: "pronated", Label: "Pronated"}}}
	sport := result.Variable{Name: "sport", Label: "Sport", Levels: []result.Level{{Value: "football", Label: "Football"}, {Value: "swimming", Label: "Swimming"}}}
	pain := result.Variable{Name: "pain", Label: "Heel pain"}
	age := result.Variable{Name: "age", Label: "Age", Unit: "years"}
	archs := [][]result.Group{nil, {{Variable: "arch", Level: "normal"}}, {{Variable: "arch", Level: "pronated"}}}
	must := func(e stats.Estimate, err error) stats.Estimate {
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	estimate := func(r result.Row, e stats.Estimate) result.Row {
		r.Estimate, r.Lower, r.Upper, r.SE, r.Level, r.P = result.Number(e.Value), result.Number(e.Lower), result.Number(e.Upper), result.Number(e.SE), result.Number(e.Level), result.Number(e.P)
		return r
	}
	child := func(groups []result.Group) [3]int {
		if groups != nil {
			return children[groups[0].Level]
		}
		a, b := children["normal"], children["pronated"]
		return [3]int{a[0] + b[0], a[1] + b[1], a[2] + b[2]}
	}

	analysis("table-1", "describe", "participants", arch, pain, age)
	for i, groups := range archs {
		c := child(groups)
		row := func(part, variable, term, measure string, x float64, n int) result.Row {
			r := result.NewRow("table-1", part, measure)
			r.Groups, r.Variable, r.Term, r.Estimate, r.N = groups, variable, term, result.Number(x), result.Number(n)
			if groups == nil {
				r.Groups = []result.Group{}
			}
			return r
		}
		r := row("size", "", "", "count", float64(c[0]), 0)
		r.N = result.None()
		add(r)
		add(row("values", "age", "", "mean", []float64{10.3223, 10.2281, 10.4975}[i], c[0]))
		add(row("values", "age", "", "standard deviation", []float64{2.1739, 2.2094, 2.0987}[i], c[0]))
		for _, level := range []string{"true", "false"} {
			count := c[2]
			if level == "false" {
				count = c[1] - c[2]
			}
			add(row("values", "pain", level, "count", float64(count), c[1]))
			r := row("values", "pain", level, "percent", 100*float64(count)/float64(c[1]), c[1])
			r.Events = result.Number(count)
			add(r)
		}
		r = row("missing", "pain", "NA", "count", float64(c[0]-c[1]), 0)
		r.N = result.None()
		add(r)
	}

	share := func(id string, groups []result.Group, events, n int) {
		r := estimate(result.NewRow(id, "proportions", "proportion"), must(stats.Proportion(events, n, stats.ProportionOptions{})))
		r.Groups, r.Variable, r.N, r.Events = groups, "pain", result.Number(n), result.Number(events)
		if groups == nil {
			r.Groups = []result.Group{}
		}
		add(r)
	}
	analysis("children", "proportion", "participants", arch, pain)
	analysis("heels", "proportion", "heels", arch, pain)
	for _, groups := range archs {
		c := child(groups)
		share("children", groups, c[2], c[1])
		r := result.NewRow("children", "missing", "count")
		r.Groups, r.Variable, r.Term, r.Estimate = append([]result.Group{}, groups...), "pain", "NA", result.Number(c[0]-c[1])
		add(r)
		h := heels["normal"]
		if groups == nil {
			h = [2]int{h[0] + heels["pronated"][0], h[1] + heels["pronated"][1]}
		} else {
			h = heels[groups[0].Level]
		}
		share("heels", groups, h[1], h[0])
	}

	analysis("rates", "incidence", "participants", sport)
	all := sports["football"]
	all.events += sports["swimming"].events
	all.hours += sports["swimming"].hours
	for _, level := range []string{"", "football", "swimming"} {
		s, groups := all, []result.Group{}
		if level != "" {
			s, groups = sports[level], []result.Group{{Variable: "sport", Level: level}}
		}
		r := estimate(result.NewRow("rates", "rates", "incidence rate"), must(stats.Rate(s.events, s.hours, stats.RateOptions{Per: 1000})))
		r.Groups, r.Events, r.PersonTime, r.Unit = groups, result.Number(s.events), result.Number(s.hours), "per 1,000 hours"
		add(r)
	}
	f, s := sports["football"], sports["swimming"]
	r := estimate(result.NewRow("rates", "ratios", "rate ratio"), must(stats.RateRatio(f.events, f.hours, s.events, s.hours, stats.RateRatioOptions{})))
	r.Variable, r.Term = "sport", "football vs swimming"
	add(r)

	analysis("arch", "association", "participants", arch)
	c1, c0 := children["pronated"], children["normal"]
	for _, level := range []string{"normal", "pronated"} {
		c := children[level]
		r := estimate(result.NewRow("arch", "counts", "risk"), must(stats.Proportion(c[2], c[1], stats.ProportionOptions{})))
		r.Variable, r.Term, r.Events, r.N = "arch", level, result.Number(c[2]), result.Number(c[1])
		add(r)
	}
	for _, m := range []struct {
		measure string
		make    func(a, b, c, d int, opts stats.LimitOptions) (stats.Estimate, error)
	}{{"odds ratio", stats.OddsRatio}, {"risk ratio", stats.RiskRatio}, {"risk difference", stats.RiskDifference}} {
		r := estimate(result.NewRow("arch", "crude", m.measure), must(m.make(c1[2], c1[1]-c1[2], c0[2], c0[1]-c0[2], stats.LimitOptions{})))
		r.Variable, r.Term = "arch", "pronated"
		add(r)
	}
	b, se := 0.6418, 0.2537
	for _, measure := range []string{"hazard ratio", "coefficient"} {
		r := result.NewRow("arch", "adjusted", measure)
		r.Variable, r.Term, r.SE, r.Level, r.P = "arch", "pronated", result.Number(se), 0.95, result.Number(math.Erfc(b/se/math.Sqrt2))
		w := quantile(0.95) * se
		r.Estimate, r.Lower, r.Upper = result.Number(b), result.Number(b-w), result.Number(b+w)
		if measure == "hazard ratio" {
			r.Estimate, r.Lower, r.Upper = result.Number(math.Exp(b)), result.Number(math.Exp(b-w)), result.Number(math.Exp(b+w))
		}
		add(r)
	}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	return res
}
