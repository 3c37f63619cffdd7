package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

// invented are results of one analysis whose rows a test writes by hand.
func invented(t *testing.T, a result.Analysis, rows ...result.Row) *result.Results {
	t.Helper()
	a.ID, a.Title = "x", "Table"
	for i := range rows {
		rows[i].Analysis = "x"
	}
	res := &result.Results{Computed: true, Analyses: []result.Analysis{a}, Rows: rows}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	return res
}

// estimated is a row with an estimate and limits at 95%.
func estimated(part, measure, variable, term string, x, lower, upper, p float64, groups ...result.Group) result.Row {
	r := result.NewRow("x", part, measure)
	r.Variable, r.Term, r.Groups = variable, term, groups
	r.Estimate, r.Lower, r.Upper, r.Level = result.Number(x), result.Number(lower), result.Number(upper), 0.95
	if p >= 0 {
		r.P = result.Number(p)
	}
	return r
}

func rated(events, time float64, r result.Row) result.Row {
	r.Events, r.PersonTime, r.N, r.Unit = result.Number(events), result.Number(time), 5, "per 1,000 hours"
	return r
}

var (
	inventedSport = result.Variable{Name: "sport", Label: "Sport", Levels: []result.Level{{Value: "swim", Label: "Swimming"}, {Value: "foot", Label: "Football"}}}
	inventedAge   = result.Variable{Name: "age", Label: "Age", Unit: "years", Levels: []result.Level{{Value: "6", Label: "6 to 9"}, {Value: "10", Label: "10 to 14"}}}
)

func TestStandardisedTables(t *testing.T) {
	swim, foot := result.Group{Variable: "sport", Level: "swim"}, result.Group{Variable: "sport", Level: "foot"}
	six, ten := result.Group{Variable: "age", Level: "6"}, result.Group{Variable: "age", Level: "10"}
	const term = "foot vs swim"
	weight := func(x float64, g result.Group) result.Row {
		r := result.NewRow("x", "standard", "weight")
		r.Groups, r.Estimate = []result.Group{g}, result.Number(x)
		return r
	}
	expected := result.NewRow("x", "standardised", "expected events")
	expected.Variable, expected.Term, expected.Estimate = "sport", term, 7.25
	test := result.NewRow("x", "tests", "trend of rates")
	test.Variable, test.Statistic, test.DF, test.P = "age", 4.25, 1, 0.039
	refused := result.NewRow("x", "tests", "homogeneity of rates")
	refused.Variable, refused.Reason = "sport", "no events in any group"
	homogeneity := result.NewRow("x", "pooled", "homogeneity of rate ratios")
	homogeneity.Variable, homogeneity.Term, homogeneity.Statistic, homogeneity.DF, homogeneity.P = "sport", term, 1.5, 1, 0.22
	lost := estimated("standardised", "standardised rate", "", "", 2.5, 1.25, 5, -1, swim)
	lost.Warnings = []string{"1 events are in levels of Age without weight and do not count."}
	unpaired := rated(0, 0, result.NewRow("x", "rates", "incidence rate"))
	unpaired.Groups, unpaired.Reason = []result.Group{ten, swim}, "no person-time"
	res := invented(t, result.Analysis{
		Kind: "incidence", Unit: "children", Variables: []result.Variable{inventedAge, inventedSport},
		Settings: []result.Setting{
			{Key: "reference.sport", Value: "swim"},
			{Key: "stratify", Value: "age"},
			{Key: "standardise over", Value: "age"},
			{Key: "standard", Value: "weights"},
		},
	},
		rated(30, 10000, estimated("rates", "incidence rate", "", "", 3, 2, 4.25, -1)),
		rated(10, 5000, estimated("rates", "incidence rate", "", "", 2, 1, 4, -1, swim)),
		rated(20, 5000, estimated("rates", "incidence rate", "", "", 4, 3, 6, -1, foot)),
		rated(10, 5000, estimated("rates", "incidence rate", "", "", 2, 1, 4, -1, six, swim)),
		rated(5, 2500, estimated("rates", "incidence rate", "", "", 2, 1, 4, -1, six, foot)),
		unpaired,
		rated(15, 2500, estimated("rates", "incidence rate", "", "", 6, 4, 9, -1, ten, foot)),
		estimated("ratios", "rate ratio", "sport", term, 2, 1.25, 4, 0.012),
		estimated("ratios", "rate ratio", "sport", term, 1, 0.5, 2, 0.9, six),
		estimated("differences", "rate difference", "sport", term, 2, -0.25, 4, 0.08),
		test, refused,
		estimated("pooled", "pooled rate ratio", "sport", term, 1.75, 1, 3, 0.05),
		rated(15, 0, estimated("pooled", "pooled rate difference", "sport", term, 1.25, -0.5, 3, 0.2)),
		homogeneity,
		weight(0.25, six), weight(0.75, ten),
		estimated("standardised", "standardised rate", "", "", 3.5, 3, 4, -1),
		lost,
		estimated("standardised", "standardised rate", "", "", 5, 3, 7, -1, foot),
		estimated("standardised", "standardised rate ratio", "sport", term, 2, 1.5, 2.75, 0.0004),
		expected,
		estimated("standardised", "standardised incidence ratio", "sport", term, 2.75, 1.5, 4.5, 0.003),
	)
	want := map[string][]string{
		"x": {
			"Group | Children at risk | Events | Person-time, hours | Rate per 1,000 hours (95% CI) | Rate ratio by sport/Ratio (95% CI) | Rate ratio by sport/P | " +
				"Rate difference by sport/Difference per 1,000 hours (95% CI) | Rate difference by sport/P",
			"All | 5 | 30 | 10,000 | 3.00 (2.00 to 4.25) | – | – | – | –",
			"[By sport]",
			"  Swimming | 5 | 10 | 5,000 | 2.00 (1.00 to 4.00) | 1 (reference) | – | 0 (reference) | –",
			"  Football | 5 | 20 | 5,000 | 4.00 (3.00 to 6.00) | 2.00 (1.25 to 4.00) | 0.01 | 2.00 (−0.25 to 4.00) | 0.08",
			"[Age, years: 6 to 9; by sport]",
			"  Swimming | 5 | 10 | 5,000 | 2.00 (1.00 to 4.00) | 1 (reference) | – | – | –",
			"  Football | 5 | 5 | 2,500 | 2.00 (1.00 to 4.00) | 1.00 (0.50 to 2.00) | 0.90 | – | –",
			"[Age, years: 10 to 14; by sport]",
			"  Swimming | 5 | 0 | 0 | not estimable^a | – | – | – | –",
			"  Football | 5 | 15 | 2,500 | 6.00 (4.00 to 9.00) | – | – | – | –",
			"(a) No person-time.",
			"() Trend of rates by age: statistic 4.25, 1 df, P = 0.04.",
			"() Homogeneity of rates by sport: not estimable: no events in any group.",
		},
		"x-pooled": {
			"Age, years | Compared/Events | Compared/Person-time, hours | Reference/Events | Reference/Person-time, hours | Rate ratio (95% CI) | P | " +
				"Rate difference per 1,000 hours (95% CI) | P",
			"[Football vs Swimming]",
			"  6 to 9 | 5 | 2,500 | 10 | 5,000 | 1.00 (0.50 to 2.00) | 0.90 | – | –",
			"  10 to 14 | 15 | 2,500 | 0 | 0 | – | – | – | –",
			"  Crude | 20 | 5,000 | 10 | 5,000 | 2.00 (1.25 to 4.00) | 0.01 | 2.00 (−0.25 to 4.00) | 0.08",
			"  Pooled | – | – | – | – | 1.75 (1.00 to 3.00) | 0.05 | 1.25 (−0.50 to 3.00) | 0.20",
			"() Homogeneity of rate ratios, Football vs Swimming: statistic 1.50, 1 df, P = 0.22.",
		},
		"x-standardised": {
			"Group | Events | Person-time, hours | Crude rate per 1,000 hours (95% CI) | Standardised rate per 1,000 hours (95% CI) | " +
				"Standardised rate ratio/Ratio (95% CI) | Standardised rate ratio/P | Standardised incidence ratio/Expected events | " +
				"Standardised incidence ratio/Observed/expected (95% CI) | Standardised incidence ratio/P",
			"All | 30 | 10,000 | 3.00 (2.00 to 4.25) | 3.50 (3.00 to 4.00) | – | – | – | – | –",
			"[By sport]",
			"  Swimming | 10 | 5,000 | 2.00 (1.00 to 4.00) | 2.50 (1.25 to 5.00)^a | 1 (reference) | – | – | 1 (reference) | –",
			"  Football | 20 | 5,000 | 4.00 (3.00 to 6.00) | 5.00 (3.00 to 7.00) | 2.00 (1.50 to 2.75) | <0.001 | 7.2 | 2.75 (1.50 to 4.50) | 0.003",
			"(a) 1 events are in levels of Age without weight and do not count.",
			"() Standard: weights, weights 6 to 9: 0.250, 10 to 14: 0.750.",
		},
	}
	sheets := sheetsOf(res, res.Analyses[0])
	if len(sheets) != len(want) {
		t.Errorf("%d sheets, want %d", len(sheets), len(want))
	}
	for _, s := range sheets {
		if diff := cmp.Diff(want[s.ID], lines(s)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", s.ID, diff)
		}
	}
}

func TestProportionTable(t *testing.T) {
	swim, foot := result.Group{Variable: "sport", Level: "swim"}, result.Group{Variable: "sport", Level: "foot"}
	of := func(events, n float64, r result.Row) result.Row {
		r.Events, r.N = result.Number(events), result.Number(n)
		return r
	}
	missing := func(code string, x float64, groups ...result.Group) result.Row {
		r := result.NewRow("x", "missing", "count")
		r.Variable, r.Term, r.Estimate, r.Groups = "pain", code, result.Number(x), groups
		return r
	}
	none := of(0, 0, result.NewRow("x", "proportions", "proportion"))
	none.Variable, none.Groups, none.Reason = "limp", []result.Group{foot}, "the condition is known of no row"
	res := invented(t, result.Analysis{
		Kind: "proportion", Unit: "heels", Settings: []result.Setting{{Key: "reference.sport", Value: "swim"}},
		Variables: []result.Variable{
			inventedSport,
			{Name: "pain", Label: "Heel pain", Missing: []result.Level{{Value: "NM", Label: "not measured"}}},
			{Name: "limp", Label: "Limp"},
		},
	},
		of(30, 120, estimated("proportions", "proportion", "pain", "", 0.25, 0.1875, 0.3125, -1)),
		of(10, 80, estimated("proportions", "proportion", "pain", "", 0.125, 0.0625, 0.25, -1, swim)),
		of(20, 40, estimated("proportions", "proportion", "pain", "", 0.5, 0.375, 0.625, -1, foot)),
		missing("NM", 3), missing("NM", 0, swim), missing("NM", 3, foot),
		missing("", 1), missing("", 1, swim), missing("", 0, foot),
		estimated("comparisons", "risk difference", "pain", "vs swim", 0.375, 0.25, 0.5, -1, foot),
		estimated("comparisons", "risk ratio", "pain", "vs swim", 4, 2, 8, 0.0001, foot),
		of(0, 40, estimated("proportions", "proportion", "limp", "", 0, 0, 0.0625, -1)),
		none,
	)
	want := []string{
		"Group | Heels with a value | With the condition | Percent (95% CI) | Risk difference, percentage points (95% CI) | Risk ratio (95% CI) | P | Missing",
		"[Heel pain]",
		"  All | 120 | 30 | 25.0 (18.8 to 31.2) | – | – | – | not measured (NM) 3, empty cell 1",
		"  Sport: Swimming | 80 | 10 | 12 (6 to 25) | 0 (reference) | 1 (reference) | – | empty cell 1",
		"  Sport: Football | 40 | 20 | 50 (38 to 62) | 37.5 (25.0 to 50.0) | 4.00 (2.00 to 8.00) | <0.001 | not measured (NM) 3",
		"[Limp]",
		"  All | 40 | 0 | 0 (0 to 6) | – | – | – | 0",
		"  Sport: Football | 0 | 0 | not estimable^a | – | – | – | 0",
		"(a) The condition is known of no row.",
	}
	sheets := sheetsOf(res, res.Analyses[0])
	if len(sheets) != 1 {
		t.Fatalf("%d sheets", len(sheets))
	}
	if diff := cmp.Diff(want, lines(sheets[0])); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}
