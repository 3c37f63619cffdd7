package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

// TestProportionality compares the tests of constant ratios, the concordance and
// the smoothed residuals with package stats.
func TestProportionality(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "cluster: child, model: {terms: [age, group], residuals: true}}\n")
	res := study.compute(t)
	times, x := ageGroupModel(v, group)
	f, err := stats.FitCox(times, x, []string{"age", "group"}, stats.CoxOptions{Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	tests, err := f.ProportionalHazards(stats.ProportionalHazardsOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "age", row(t, res, "v/proportionality/age/test of proportional hazards").P, tests.Terms[0].P)
	near(t, "all", row(t, res, "v/proportionality/test of proportional hazards").Statistic, tests.Global.Statistic)
	c, err := f.Concordance(0.95)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "concordance", row(t, res, "v/model/concordance").Upper, c.Concordance.Upper)
	residuals, err := f.ScaledSchoenfeld(stats.TimeKaplanMeier)
	if err != nil {
		t.Fatal(err)
	}
	curve, err := residuals.Smooth(1, stats.SmoothOptions{})
	if err != nil {
		t.Fatal(err)
	}
	last := len(curve.Time) - 1
	near(t, "over time", row(t, res, "v/over time/:group: b/hazard ratio@"+digits(curve.Time[last])).Estimate, math.Exp(curve.Smooth[last]))
	if ids := strings.Join(res.Analyses[0].Figures, " "); ids != "v v-residuals" {
		t.Errorf("figures %q", ids)
	}
}
