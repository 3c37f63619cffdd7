package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

// TestStatesLayout has a group of which the day 28 is not known, and one that
// nobody could be placed in.
func TestStatesLayout(t *testing.T) {
	girls, boys := []result.Group{{Variable: "sex", Level: "female"}}, []result.Group{{Variable: "sex", Level: "male"}}
	var rows []result.Row
	add := func(r result.Row, at result.Number, g []result.Group) *result.Row {
		r.At, r.Groups = at, g
		rows = append(rows, r)
		return &rows[len(rows)-1]
	}
	none := result.None()
	add(rowOf("size", "", "children", 5, 0, 0), none, nil)
	add(rowOf("states size", "", "children", 4, 0, 0), none, girls)
	add(rowOf("states size", "", "children", 1, 0, 0), none, boys)
	add(rowOf("states", "", "state occupancy", none, 0, 0), none, boys).Reason = "nobody is there"
	for i, state := range []string{"symptomatic", "back"} {
		add(rowOf("states", state, "state occupancy", result.Number(i), 0, 0), 0, girls)
		add(rowOf("states at", state, "state occupancy", []result.Number{0.325, 0.675}[i], 0.1, 0.9), 14, girls)
		add(rowOf("states at", state, "state occupancy", none, 0, 0), 28, girls).Reason = "not known after day 20"
		add(rowOf("states mean", state, "mean days in the state", []result.Number{12.3, 15.7}[i], 4, 20), 28, girls).Unit = "days"
	}
	add(rowOf("states changes", "symptomatic to back", "count", 3, 0, 0), none, girls)
	add(rowOf("states risk-table", "", "under observation", 4, 0, 0), 0, girls)
	add(rowOf("states risk-table", "", "under observation", 2, 0, 0), 20, girls)
	got := sheetsOfRows(t, "recurrence", rows)
	want := map[string][]string{
		"a-states": {
			"State | Children | Children in the state, % (95% CI)/On day 14 | Children in the state, % (95% CI)/On day 28 | Mean days up to day 28 (95% CI)",
			"female | 4 | – | – | –",
			"  Symptomatic | – | 32.5 (10.0 to 90.0) | not estimable^a | 12.3 (4.0 to 20.0)",
			"  Back | – | 67.5 (10.0 to 90.0) | not estimable^a | 15.7 (4.0 to 20.0)",
			"male | 1 | – | – | –",
			"(a) Not known after day 20.", "() male: not estimable: nobody is there.",
		},
		"a-states-changes": {"Change | female | male", "Symptomatic to back | 3 | –"},
		"a-states-at-risk": {"Group | Day/0 | Day/20", "female | 4 | 2", "() Just before the day; on day 0 from then on. Children who gave up are no longer under observation."},
	}
	for id, sheet := range want {
		if d := cmp.Diff(sheet, got[id]); d != "" {
			t.Errorf("%s (-want +got):\n%s", id, d)
		}
	}
	for id := range got {
		if _, known := want[id]; !known && id != "a" {
			t.Errorf("sheet %s", id)
		}
	}
}

func TestSpellModelLayout(t *testing.T) {
	ratio := rowOf("model", "", "average hazard ratio", 1.5, 1.1, 2.05)
	ratio.Variable, ratio.P = "age", 0.01
	children := rowOf("model", "", "children", 1109, 0, 0)
	children.Events = 285
	equal := rowOf("model", "", "test of equal ratios", result.None(), 0, 0)
	equal.Variable, equal.Statistic, equal.DF, equal.P, equal.N, equal.Method = "age", 3.2, 1, 0.07, 1330, "Wald"
	variance := rowOf("model", "", "frailty variance", 0.62, 0.1, 1.4)
	variance.P = 0.004
	second := rowOf("model of spell 2", "", "hazard ratio", 1.9, 1.2, 3)
	second.Variable, second.P = "age", 0.006
	got := sheetsOfRows(t, "recurrence", []result.Row{rowOf("size", "", "children", 5, 0, 0), children, ratio, equal, variance, second})
	for id, want := range map[string][]string{
		"a-model": {
			"Term | Average hazard ratio (95% CI) | P", "age (per unit) | 1.50 (1.10 to 2.05) | 0.01",
			"() Children 1,109, events 285.", "() Frailty variance 0.62 (95% CI 0.10 to 1.40), P = 0.004.",
			"() Test of equal ratios for all spells, age: statistic 3.20, 1 df, P = 0.07, n = 1,330.",
		},
		"a-model-of-spell-2": {"Term | Hazard ratio (95% CI) | P", "age (per unit) | 1.90 (1.20 to 3.00) | 0.006"},
	} {
		if d := cmp.Diff(want, got[id]); d != "" {
			t.Errorf("%s (-want +got):\n%s", id, d)
		}
	}
}
