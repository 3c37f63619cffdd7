package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

// TestCoxSpline compares the rows with package stats: the spline's columns of the
// model, ratios against the reference, tests, the curve, and adjusted survival.
func TestCoxSpline(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "cluster: child, by: group, competing: [{when: gone and not back, label: gone}], " +
		"model: {terms: [age, group], spline: {age: {at: [8, 11, 13.5], reference: 12}}, residuals: true, ends: true, incidence: true, adjusted: true}}\n")
	res := study.compute(t)
	spline, err := stats.NewNaturalSpline([]float64{8, 11, 13.5})
	if err != nil {
		t.Fatal(err)
	}
	times, x := ageGroupModel(v, group)
	for i, row := range x {
		x[i] = append(spline.At(row[0]), row[1])
	}
	f, err := stats.FitCox(times, x, []string{"a", "b", "group"}, stats.CoxOptions{Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "curve 1", row(t, res, "v/model/age:curve 1/coefficient").Estimate, f.Coefficients[1])
	near(t, "its SE", row(t, res, "v/model/age:curve 1/coefficient").SE, f.SE[1])
	ratio := func(x float64) stats.Estimate {
		combination := make([]float64, 3)
		for j, at := range spline.At(x) {
			combination[j] = at - spline.At(12)[j]
		}
		return f.Ratio("", combination, 0.95)
	}
	r := row(t, res, "v/shapes/age:8 vs 12/hazard ratio")
	near(t, r.ID, r.Estimate, ratio(8).Value)
	near(t, r.ID+" upper", r.Upper, ratio(8).Upper)
	r = row(t, res, "v/smooth/age/hazard ratio@9.5")
	near(t, r.ID, r.Estimate, ratio(9.5).Value)
	near(t, r.ID+" lower", r.Lower, ratio(9.5).Lower)
	if r = row(t, res, "v/smooth/age/hazard ratio@12"); r.Estimate != 1 || r.Lower != 1 || r.Upper != 1 {
		t.Errorf("at the reference %v (%v to %v)", r.Estimate, r.Lower, r.Upper)
	}
	near(t, "test of the term", row(t, res, "v/shapes/age/test of the term").Statistic, f.JointTest("", []int{0, 1}).Statistic)
	near(t, "test of curvature", row(t, res, "v/shapes/age/test of curvature").P, f.JointTest("", []int{1}).P)
	tests, err := f.ProportionalHazards(stats.ProportionalHazardsOptions{Terms: []stats.TermColumns{{Name: "age", Columns: []int{0, 1}}, {Name: "group", Columns: []int{2}}}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "proportional hazards", row(t, res, "v/proportionality/age/test of proportional hazards").Statistic, tests.Terms[0].Statistic)
	levels := make([][][]float64, 2)
	for g := range levels {
		for _, row := range x {
			levels[g] = append(levels[g], []float64{row[0], row[1], float64(g)})
		}
	}
	a, err := f.AdjustedSurvival(levels, stats.AdjustedOptions{})
	if err != nil {
		t.Fatal(err)
	}
	at, err := a.At(40)
	if err != nil {
		t.Fatal(err)
	}
	if w := strings.Join(res.Analyses[0].Warnings, " "); !strings.Contains(w, "Adjusted curves censor competing ends") {
		t.Errorf("warnings %q", w)
	}
	near(t, "adjusted", row(t, res, "v/adjusted/group=b/survival@40").Lower, at.Values[1].Lower)
	// The other models have their shapes in parts of their own; all that end
	// otherwise are of one group, whose ratio has no finite estimate.
	for id, reason := range map[string]string{
		"v/shapes of the incidence model/age:8 vs 12/subdistribution hazard ratio": "",
		"v/shapes of gone/age/test of the term":                                    "separation",
		"v/shapes of the incidence model of gone/age/test of the term":             "separation",
	} {
		if r := row(t, res, id); r.Estimate.Present() != (reason == "") || !strings.Contains(r.Reason, reason) {
			t.Errorf("%s: %v, reason %q", id, r.Estimate, r.Reason)
		}
	}
	for _, r := range res.Rows {
		if r.Variable == "age" && r.Part == "model" && strings.HasSuffix(r.Measure, "ratio") || r.Part == "over time" && strings.Contains(r.Term, "age") {
			t.Errorf("a ratio of a spline's column: %s", r.ID)
		}
		if math.IsNaN(float64(r.Estimate)) && r.Estimate.Present() {
			t.Errorf("%s is no number", r.ID)
		}
	}
	if ids := strings.Join(res.Analyses[0].Figures, " "); ids != "v v-adjusted v-incidence v-residuals v-smooth" {
		t.Errorf("figures %q", ids)
	}
}
