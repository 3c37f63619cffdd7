package run

import (
	"errors"
	"math"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// visitTimes are the rows of visitStudy on their clocks.
func visitTimes(v stats.Intervals) stats.Times {
	var times stats.Times
	for i := range v.Left {
		exit, had := v.Right[i], true
		if math.IsInf(exit, 1) {
			exit, had = v.Left[i]+1, false
		}
		times.Exit, times.Status = append(times.Exit, exit), append(times.Status, had)
	}
	return times
}

// visitAge and visitGone are the columns age and gone of visitStudy.
func visitAge(i int) float64 { return float64(8 + i%7) }
func visitGone(i int) bool   { return i%4/2 == 0 }

// TestLaterTerm cuts rows by hand where a treatment begins, on day 30 + 2 × age of
// the clock, never where gone, and compares with package stats. Time before it
// begins is time without it: the model that calls rows treated from the start,
// as they will be, has another ratio.
func TestLaterTerm(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan +
		"cluster: child, model: {terms: [group], later: [{name: insole, label: Insole, day: onset + 30 + 2 * age, never: gone}]}}\n")
	res := study.compute(t)
	times := visitTimes(v)
	var cut stats.Times
	var x, always [][]float64
	var ids []int
	for i := range times.Exit {
		at := 30 + 2*visitAge(i)
		if visitGone(i) {
			at = math.Inf(1)
		}
		ever := 0.0
		if at < times.Exit[i] {
			ever = 1
			cut.Entry, cut.Exit, cut.Status = append(cut.Entry, -1), append(cut.Exit, at), append(cut.Status, false)
			x, ids = append(x, []float64{float64(group[i]), 0}), append(ids, child[i])
		}
		cut.Entry = append(cut.Entry, map[bool]float64{true: at, false: -1}[ever == 1])
		cut.Exit, cut.Status = append(cut.Exit, times.Exit[i]), append(cut.Status, times.Status[i])
		x, ids = append(x, []float64{float64(group[i]), ever}), append(ids, child[i])
		always = append(always, []float64{float64(group[i]), ever})
	}
	f, err := stats.FitCox(cut, x, []string{"group", "insole"}, stats.CoxOptions{Cluster: ids})
	if err != nil {
		t.Fatal(err)
	}
	r := row(t, res, "v/model/insole:true/hazard ratio")
	near(t, "insole", r.Estimate, f.Estimates[1].Value)
	near(t, "its limit", r.Upper, f.Estimates[1].Upper)
	near(t, "group", row(t, res, "v/model/group:b/hazard ratio").Estimate, f.Estimates[0].Value)
	near(t, "rows", row(t, res, "v/model/log likelihood").N, 60)
	immortal, err := stats.FitCox(times, always, []string{"group", "insole"}, stats.CoxOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if immortal.Coefficients[1] > f.Coefficients[1]-0.3 {
		t.Errorf("coefficient %v where time before treatment counts as treated, %v where it does not: the data do not tell them apart", immortal.Coefficients[1], f.Coefficients[1])
	}
}

// TestLaterTermUnknown leaves out rows whose later term has no day.
func TestLaterTermUnknown(t *testing.T) {
	study, v, _, _ := visitStudy("  - " + visitPlan + "model: {later: [{name: seen, day: with}]}}\n")
	res := study.compute(t)
	unknown := 0.0
	for i := range v.Right {
		if math.IsInf(v.Right[i], 1) {
			unknown++
		}
	}
	if got := removedUnder(res, "rows", "the beginning of seen missing: not in the model"); got != unknown {
		t.Errorf("%v rows without the day, want %v", got, unknown)
	}
	// With the event on the day the term begins nobody ever has it: no variance.
	if r := row(t, res, "v/model/log likelihood"); !strings.Contains(r.Reason, "reference levels") {
		t.Errorf("reason %q", r.Reason)
	}
}

// TestHazardModels compares frailty, offset and parametric models of intervals
// with package stats.
func TestHazardModels(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "by: group, cluster: child, interval: {without: without, with: with, replicates: 100}, " +
		"model: {terms: [group], frailty: true, parametric: [weibull, log-normal]}}\n")
	res := study.compute(t)
	times := visitTimes(v)
	var x [][]float64
	for i := range group {
		x = append(x, []float64{float64(group[i])})
	}
	frailty, err := stats.FitCoxFrailty(times, child, x, []string{"group=b"}, stats.FrailtyOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "frailty", row(t, res, "v/frailty model/group:b/hazard ratio").Upper, frailty.Estimates[0].Upper)
	near(t, "variance", row(t, res, "v/frailty model/frailty variance").Upper, frailty.Variance.Upper)
	near(t, "tau", row(t, res, "v/frailty model/Kendall's tau of two rows of one child").Estimate, frailty.Tau)
	for _, d := range []stats.LifetimeDistribution{stats.Weibull, stats.LogNormal} {
		f, err := stats.FitParametricSurvival(stats.EnteredIntervals{Intervals: v}, x, []string{"group=b"}, d, stats.ParametricOptions{Cluster: child})
		if err != nil {
			t.Fatal(err)
		}
		part := "v/" + parametricPart(d)
		near(t, "time ratio", row(t, res, part+"/group:b/time ratio").Lower, f.Estimates[0].Lower)
		near(t, "scale", row(t, res, part+"/:log(scale)/coefficient").Estimate, f.Coefficients[2])
		near(t, "shape", row(t, res, part+"/shape").Upper, f.Shape.Upper)
		near(t, "AIC", row(t, res, part+"/AIC").Estimate, f.AIC)
		near(t, "median", row(t, res, part+"/group=b/median time").Upper, f.Quantile([]float64{1}, 0.5, 0.95).Upper)
		near(t, "at 40", row(t, res, part+"/group=a/survival@40").Lower, f.Survival([]float64{0}, 40, 0.95).Lower)
		last, places := 0.0, 0
		for _, r := range res.Rows {
			if r.Part == "fitted" && r.Term == string(d) && r.Groups[0].Level == "b" {
				last = math.Max(last, float64(r.At))
				places++
				if r.At > 0 {
					near(t, r.ID, r.Estimate, f.Survival([]float64{1}, float64(r.At), 0.95).Value)
				}
			}
		}
		if places != 51 || last < 100 {
			t.Errorf("%s: %d places up to %v", d, places, last)
		}
		if d == stats.Weibull {
			near(t, "hazard ratio", row(t, res, part+"/group:b/hazard ratio").Estimate, f.HazardRatios[0].Value)
		}
	}
}

// TestFittedFigures wants a figure of each group's curve beside those of the
// models.
func TestFittedFigures(t *testing.T) {
	study, _, _, _ := visitStudy("  - " + visitPlan + "by: group, model: {terms: [group], parametric: [weibull]}}\n")
	res := study.compute(t)
	if ids := strings.Join(res.Analyses[0].Figures, " "); ids != "v v-fitted-a v-fitted-b" {
		t.Errorf("figures %q", ids)
	}
	seen := 0
	for _, r := range res.Rows {
		if r.Part != "fitted" || r.Term != result.Observed || r.At == 0 {
			continue
		}
		seen++
		near(t, r.ID, r.Estimate, float64(row(t, res, strings.Replace(strings.Replace(r.ID, "/fitted/", "/curve/", 1), "/:as observed", "", 1)).Estimate))
	}
	if seen < 10 {
		t.Errorf("%d steps as observed", seen)
	}
}

// TestPenalisedHazard wants finite estimates where no event of a group leaves the
// Cox model without any, which says how to get them.
func TestPenalisedHazard(t *testing.T) {
	const rows = `
a,normal,0,0,10,yes,9
b,normal,0,0,12,yes,9
c,normal,0,0,14,no,9
d,normal,0,0,16,yes,9
e,normal,0,0,18,yes,9
f,pronated,0,0,20,no,9
g,pronated,0,0,22,no,9
h,pronated,0,0,15,no,9
`
	const plan = "{id: f, kind: time-to-event, event: {day: left, when: back}, model: {terms: [arch]"
	times := stats.Times{
		Exit:   []float64{10, 12, 14, 16, 18, 20, 22, 15},
		Status: []bool{true, true, false, true, true, false, false, false},
	}
	x := [][]float64{{0}, {0}, {0}, {0}, {0}, {1}, {1}, {1}}
	if _, err := stats.FitCox(times, x, []string{"arch"}, stats.CoxOptions{}); !errors.Is(err, stats.ErrSeparation) {
		t.Fatalf("%v, want separation", err)
	}
	res := heelStudy(plan+"}}", rows).compute(t)
	if w := strings.Join(res.Analyses[0].Warnings, " "); !strings.Contains(w, "penalty: firth") {
		t.Errorf("warnings %q do not say how to get an estimate", w)
	}
	f, err := stats.FitFirthCox(times, x, []string{"arch"}, stats.FirthCoxOptions{})
	if err != nil {
		t.Fatal(err)
	}
	res = heelStudy(plan+", penalty: firth}}", rows).compute(t)
	r := row(t, res, "f/model/arch:pronated/hazard ratio")
	near(t, "ratio", r.Estimate, f.Estimates[0].Value)
	near(t, "limit", r.Upper, f.Estimates[0].Upper)
	near(t, "P", r.P, f.Estimates[0].P)
}

// TestWeightedCurve compares weighted curves and models, and an offset, with
// package stats.
func TestWeightedCurve(t *testing.T) {
	study, v, _, group := visitStudy("  - " + visitPlan + "by: group, weights: age / 10, model: {terms: [group], offset: age / 20}}\n")
	res := study.compute(t)
	times := visitTimes(v)
	var x [][]float64
	var weights, offset, own []float64
	var first stats.Times
	for i := range group {
		x = append(x, []float64{float64(group[i])})
		weights, offset = append(weights, visitAge(i)/10), append(offset, visitAge(i)/20)
		if group[i] == 0 {
			first.Exit, first.Status, own = append(first.Exit, times.Exit[i]), append(first.Status, times.Status[i]), append(own, weights[i])
		}
	}
	f, err := stats.FitCox(times, x, []string{"group=b"}, stats.CoxOptions{Weights: weights, Offset: offset})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "ratio", row(t, res, "v/model/group:b/hazard ratio").Lower, f.Estimates[0].Lower)
	c, err := stats.KaplanMeier(first, stats.CurveOptions{Weights: own})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "curve", row(t, res, "v/at/group=a/survival@40").Upper, c.At(40).Upper)
	for _, r := range res.Rows {
		if r.Part == "tests" {
			t.Errorf("%s beside weights", r.ID)
		}
	}
}

// TestHazardModelRefusals holds the place and the words of what a model may not
// have.
func TestHazardModelRefusals(t *testing.T) {
	const a = "id: f, kind: time-to-event, event: {day: left, when: back}, "
	for _, c := range []struct{ text, words string }{
		{a + "model: ¦{terms: [arch], frailty: true}", "frailty without cluster"},
		{a + "cluster: child, model: ¦{terms: [arch], penalty: firth}", "takes rows as independent"},
		{a + "model: ¦{terms: [arch], penalty: firth, ties: efron}", "expected breslow"},
		{a + "model: ¦{terms: [arch], parametric: weibull, later: [{name: x, day: seen}]}", "parametric beside later"},
		{a + "model: {terms: [arch], parametric: [weibull, ¦weibull]}", "stands twice"},
		{a + "model: {terms: [arch], later: [{name: ¦arch, day: seen}]}", "is in the model already"},
		{a + "model: {later: [{name: ¦age, day: seen}]}", "a name of its own"},
		{a + "model: {later: [{name: x, day: ¦sen}]}", `did you mean "seen"?`},
		{a + "model: {later: [{name: x, day: seen, never: ¦age}]}", "expected a boolean"},
		{a + "model: {terms: [arch], offset: ¦arch}", "expected a number"},
		{a + "by: arch, weights: age, tests: ¦log-rank", "tests beside weights"},
		{"¦" + a + "weights: age, bands: hall-wellner", "bands beside weights"},
	} {
		refused(t, heelBook, c.text, c.words)
	}
}
