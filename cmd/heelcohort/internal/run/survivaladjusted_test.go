package run

import (
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// ageGroupModel are the times and covariates of a visit study, age and group b.
func ageGroupModel(v stats.Intervals, group []int) (times stats.Times, x [][]float64) {
	for i := range group {
		x = append(x, []float64{visitAge(i), float64(group[i])})
	}
	return visitTimes(v), x
}

// TestAdjusted compares the rows with package stats.
func TestAdjusted(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "by: group, reference: b, limits: log, horizon: 90, cluster: child, model: {terms: [age, group], adjusted: true}}\n")
	res := study.compute(t)
	times, x := ageGroupModel(v, group)
	f, err := stats.FitCox(times, x, []string{"age", "group"}, stats.CoxOptions{Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	levels := make([][][]float64, 2)
	for g := range levels {
		for _, row := range x {
			levels[g] = append(levels[g], []float64{row[0], float64(g)})
		}
	}
	a, err := f.AdjustedSurvival(levels, stats.AdjustedOptions{Limits: stats.LimitsLog})
	if err != nil {
		t.Fatal(err)
	}
	for g, level := range []string{"a", "b"} {
		for i, at := range a.Time {
			r := row(t, res, "v/adjusted curve/group="+level+"/survival@"+digits(at))
			near(t, r.ID, r.Estimate, a.Curves[g].Survival[i])
			near(t, r.ID+" upper", r.Upper, a.Curves[g].Upper[i])
		}
	}
	check := func(id string, e stats.Estimate) {
		t.Helper()
		r := row(t, res, id)
		near(t, id, r.Estimate, e.Value)
		near(t, id+" lower", r.Lower, e.Lower)
		near(t, id+" SE", r.SE, e.SE)
	}
	at, err := a.At(80)
	if err != nil {
		t.Fatal(err)
	}
	means, err := a.RestrictedMeans(90)
	if err != nil {
		t.Fatal(err)
	}
	check("v/adjusted/group=b/survival@80", at.Values[1])
	check("v/adjusted/group=a/restricted mean time@90", means.Values[0])
	d, err := at.Difference(0, 1)
	if err != nil {
		t.Fatal(err)
	}
	check("v/adjusted/group:a vs b/survival difference@80", d)
	if d, err = means.Difference(0, 1); err != nil {
		t.Fatal(err)
	}
	check("v/adjusted/group:a vs b/restricted mean difference@90", d)
	if ids := strings.Join(res.Analyses[0].Figures, " "); ids != "v v-adjusted" {
		t.Errorf("figures %q", ids)
	}
}

// TestAdjustedReasons wants a reason where nothing is known.
func TestAdjustedReasons(t *testing.T) {
	reason := func(res *result.Results, id, words string) {
		t.Helper()
		if r := row(t, res, id); r.Estimate.Present() || !strings.Contains(r.Reason, words) {
			t.Errorf("%s: %v, reason %q, want %q", id, r.Estimate, r.Reason, words)
		}
	}
	study, _, _, _ := visitStudy("  - " + strings.Replace(visitPlan, "80]", "80, 5000]", 1) + "by: group, horizon: 4000, model: {terms: [age, group], strata: gone, adjusted: true}}\n")
	res := study.compute(t)
	reason(res, "v/adjusted/group=a/survival@5000", "when follow-up of gone")
	reason(res, "v/adjusted/group:b vs a/survival difference@5000", "curves end at")
	reason(res, "v/adjusted/group=b/restricted mean time@4000", "curves end at")
	if r := row(t, res, "v/adjusted/group=a/survival@80"); !r.Estimate.Present() {
		t.Errorf("at 80: %s", r.Reason)
	}
	// The event is that of those not gone: the others' stratum has none.
	study, _, _, _ = visitStudy("  - {id: v, kind: time-to-event, start: onset, event: {day: last, when: back and not gone}, by: group, model: {terms: [age, group], strata: gone, adjusted: true}}\n")
	res = study.compute(t)
	reason(res, "v/adjusted/survival", "no events in gone")
	// Nobody of b is in the model, and the follow-up of the last events is short.
	rows := "a,normal,0,0,4,yes,9\nb,normal,0,0,9,no,10\nc,pronated,0,0,5,yes,9\nd,pronated,0,0,6,no,8\ne,normal,0,0,7,yes,8\nf,pronated,0,0,8,yes,10\n"
	res = heelStudy("{id: f, kind: time-to-event, event: {day: left, when: back}, by: arch, at: [2, 5], model: {terms: [arch, age], adjusted: true}}", rows).compute(t)
	reason(res, "f/adjusted curve/arch=supinated/survival", "no row of the model")
	reason(res, "f/adjusted/arch=supinated/survival@5", "no row of the model")
	reason(res, "f/adjusted/arch:supinated vs normal/survival difference@5", "no row of the model")
	reason(res, "f/adjusted/arch:pronated vs normal/survival difference@2", "no variation")
	if w := strings.Join(res.Analyses[0].Warnings, " "); !strings.Contains(w, "Arch pronated was followed up to 8") {
		t.Errorf("warnings %q", w)
	}
	res = heelStudy("{id: f, kind: time-to-event, event: {day: left, when: back}, by: arch, model: {terms: [arch], adjusted: true}}",
		"a,normal,0,0,4,no,9\nb,pronated,0,0,5,no,9\n").compute(t)
	reason(res, "f/adjusted/survival", "no events")
}
