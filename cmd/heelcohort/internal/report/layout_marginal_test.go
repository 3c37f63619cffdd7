package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

// TestMarginalAndShapeSheets lays out two levels of one variable and a spline.
func TestMarginalAndShapeSheets(t *testing.T) {
	a := result.Analysis{ID: "m", Title: "Rates", Kind: "incidence", Variables: []result.Variable{
		{Name: "sport", Label: "Sport", Levels: []result.Level{{Value: "a", Label: "Athletics"}, {Value: "b", Label: "Badminton"}, {Value: "c", Label: "Judo"}}},
		{Name: "age", Label: "Age", Unit: "years"},
	}}
	row := func(part, variable, term, measure string, value, lower, upper, p float64) result.Row {
		r := result.NewRow("m", part, measure)
		r.Variable, r.Term = variable, term
		r.Estimate, r.Lower, r.Upper, r.Level, r.P = result.Number(value), result.Number(lower), result.Number(upper), 0.95, result.Number(p)
		if measure == "marginal rate" || measure == "marginal rate difference" {
			r.Unit = "per 1,000 hours"
		}
		return r
	}
	none := float64(result.None())
	test := result.NewRow("m", "shapes", "test of curvature")
	test.Variable, test.Statistic, test.DF, test.P = "age", 9.21, 2, 0.01
	peak := result.NewRow("m", "shapes", "time of the peak")
	peak.Variable, peak.Estimate = "age", 8.5
	res := &result.Results{Analyses: []result.Analysis{a}, Rows: []result.Row{
		row("marginal", "sport", "a", "marginal rate", 2, 1.5, 2.6, none),
		row("marginal", "sport", "b", "marginal rate", 3, 2.4, 3.7, none),
		row("marginal", "sport", "b vs a", "marginal rate ratio", 1.5, 1.1, 2.05, 0.01),
		row("marginal", "sport", "b vs a", "marginal rate difference", 1, 0.2, 1.8, 0.01),
		row("shapes", "age", "8 vs 10", "rate ratio", 0.5, 0.3, 0.8, 0.004),
		peak, test,
	}}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	b := newBlock(res, a)
	for _, c := range []struct {
		sheets []Sheet
		want   []string
	}{
		{marginalSheets(b), []string{
			"Group | Marginal rate per 1,000 hours (95% CI) | Ratio (95% CI) | P | Difference per 1,000 hours (95% CI)",
			"[Sport]",
			"  Athletics | 2.00 (1.50 to 2.60) | 1 (reference) | – | 0 (reference)",
			"  Badminton | 3.00 (2.40 to 3.70) | 1.50 (1.10 to 2.05) | 0.01 | 1.00 (0.20 to 1.80)",
		}},
		{shapeSheets(b), []string{
			"Term | Estimate (95% CI) | P",
			"[Age, years]",
			"  Rate ratio, 8 vs 10 | 0.50 (0.30 to 0.80) | 0.004",
			"  Time of the peak | 8.50 | –",
			"  Test of curvature | 9.21 on 2 df | 0.01",
		}},
	} {
		if len(c.sheets) != 1 {
			t.Fatalf("%d sheets", len(c.sheets))
		}
		if diff := cmp.Diff(c.want, lines(c.sheets[0])); diff != "" {
			t.Errorf("%s (-want +got):\n%s", c.sheets[0].ID, diff)
		}
	}
	if empty := newBlock(&result.Results{}, a); marginalSheets(empty) != nil || shapeSheets(empty) != nil {
		t.Error("sheets without rows")
	}
}
