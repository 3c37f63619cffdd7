package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

func TestChangeLayout(t *testing.T) {
	a := result.Analysis{
		ID: "a", Kind: "change", Title: "T", Unit: "visits",
		Settings: []result.Setting{{Key: "value", Value: "pain"}, {Key: "threshold", Value: "a value of 10 mm or lower"}, {Key: "unit of time", Value: "days"}},
		Variables: []result.Variable{
			{Name: "pain", Label: "Pain", Unit: "mm", Missing: []result.Level{{Value: "NM", Label: "not measured"}}},
			{Name: "visit", Label: "Visit", Levels: []result.Level{{Value: "start", Label: "Start"}, {Value: "later", Label: "Later"}}},
			{Name: "sex", Label: "Sex", Levels: []result.Level{{Value: "f", Label: "Girls"}, {Value: "m", Label: "Boys"}}},
		},
	}
	start, later := result.Group{Variable: "visit", Level: "start"}, result.Group{Variable: "visit", Level: "later"}
	girls, boys := result.Group{Variable: "sex", Level: "f"}, result.Group{Variable: "sex", Level: "m"}
	var rows []result.Row
	add := func(part, term, measure string, estimate, lower, upper, n, events result.Number, groups ...result.Group) *result.Row {
		r := rowOf(part, term, measure, estimate, lower, upper)
		r.Groups, r.Variable, r.N, r.Events = groups, "pain", n, events
		if part == "size" || part == "visits" || part == "time" || part == "interval quantile" {
			r.Variable = ""
		}
		rows = append(rows, r)
		return &rows[len(rows)-1]
	}
	none := result.None()
	add("visits", "", "median day", 0, 0, 0, 9, none, start)
	add("visits", "", "median day", 28, 0, 0, 8, none, later)
	add("size", "", "subjects", 10, 0, 0, none, none)
	add("values", "", "mean", 50, 45, 55, 9, none, start)
	add("values", "", "standard deviation", 6.3, 0, 0, 9, none, start)
	add("missing", "NM", "count", 1, 0, 0, none, none, start)
	add("missing", "", "no visit", 0, 0, 0, none, none, start)
	add("values", "", "mean", 30, 22, 38, 8, none, later)
	add("values", "", "standard deviation", 9, 0, 0, 8, none, later)
	add("missing", "NM", "count", 1, 0, 0, none, none, later)
	add("missing", "", "no visit", 2, 0, 0, none, none, later)
	add("change", "", "mean change", -21, -30, -12, 7, none, later)
	add("change", "", "standard deviation of the change", 10, 0, 0, 7, none, later)
	size := add("model size", "", "clusters", 7, 0, 0, 7, none)
	size.Variable, size.Warnings = "", []string{"Robust errors rest on 7 clusters"}
	add("adjusted", "", "adjusted mean change", -20, -30, -10, none, none, girls, later).Unit = "mm"
	add("adjusted", "", "adjusted mean change", -24, -34, -14, none, none, boys, later).Unit = "mm"
	d := add("differences", "vs f", "difference of change", -4, -9, 1, 7, none, boys, later)
	d.P, d.Unit = 0.12, "mm"
	test := add("model", "", "test of groups at all visits", none, 0, 0, 7, none)
	test.Variable, test.Statistic, test.DF, test.P, test.Reason = "", 2.4, 1, 0.12, ""
	add("reached", "", "proportion", 0.5, 0.2, 0.8, 8, 4, later)
	add("reached", "", "proportion", 0.25, 0.05, 0.7, 4, 1, girls, later)
	add("reached", "", "proportion", 0.75, 0.3, 0.95, 4, 3, boys, later)
	add("reached", "vs f", "risk difference", 0.5, -0.1, 0.8, 8, 4, boys, later)
	add("time", "", "subjects", 7, 0, 0, none, 3).Censored = 4
	median := add("interval quantile", "interval-censored", "median time", 30, 20, 40, 7, none)
	median.Unit = "days"
	res := &result.Results{Analyses: []result.Analysis{a}, Rows: rows}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	got := map[string][]string{}
	for _, s := range sheetsOf(res, a) {
		got[s.ID] = lines(s)
	}
	want := map[string][]string{
		"a": {
			"Visit | Pain, mm/n | Pain, mm/Mean (95% CI) | Pain, mm/SD | Pain, mm/Missing | Change from the baseline/n | Change from the baseline/Mean (95% CI) | Change from the baseline/SD",
			"[All (10 subjects)]",
			"  Start | 9 | 50.0 (45.0 to 55.0) | 6.3 | not measured (NM) 1 | – | 0 (baseline) | –",
			"  Later | 8 | 30.0 (22.0 to 38.0) | 9.0 | no visit 2, not measured (NM) 1 | 7 | −21.0 (−30.0 to −12.0) | 10.0",
			"() SD: standard deviation. Change is of the subjects with a value at the baseline and at the visit.",
		},
		"a-differences": {
			"Sex | Mean change, mm (95% CI) | Difference, mm (95% CI) | P", "[Later]",
			"  Girls | −20.0 (−30.0 to −10.0) | 0 (reference) | –",
			"  Boys | −24.0 (−34.0 to −14.0) | −4.0 (−9.0 to 1.0) | 0.12",
			"() Mean change of each group at the mean of the baseline and of all else in the model.",
			"() Model of 7 values in 7 clusters. Robust errors rest on 7 clusters.",
			"() Test of groups at all visits: statistic 2.40, 1 df, P = 0.12, n = 7.",
		},
		"a-reached": {
			"Group | Subjects with both values | Reached it | Percent (95% CI) | Risk difference, percentage points (95% CI)", "[Later]",
			"  All | 8 | 4 | 50 (20 to 80) | –",
			"  Girls | 4 | 1 | 25 (5 to 70) | 0 (reference)",
			"  Boys | 4 | 3 | 75 (30 to 95) | 50.0 (−10.0 to 80.0)",
		},
		"a-time":     {"Group | Subjects | Reached it | Not reached", "All | 7 | 3 | 4"},
		"a-interval": {"Threshold taken to be reached | Median, days (95% CI)", "  Interval-censored | 30 (20 to 40)"},
		"a-model":    {"Term | Estimate | P", "() Test of groups at all visits 2.40, 1 df, P = 0.12, n = 7."},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
