package run

import (
	"testing"

	"heelcohort/stats"
)

// TestCurveTestFamily compares the tests that look at a trend, at late times, at
// the best of several and at pairs with package stats, by child.
func TestCurveTestFamily(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "cluster: child, by: group, quantiles: [0.25], " +
		"tests: [fleming-harrington, maximum-combination, trend], powers: [0, 1], scores: {a: 1, b: 3}, pairs: holm}\n")
	res := study.compute(t)
	times := visitTimes(v)
	late := stats.LogRankOptions{Cluster: child, Weight: stats.LogRankWeight{Kind: stats.FlemingHarrington, Gamma: 1}}
	plain, err := stats.LogRank(times, group, 2, late)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "late", row(t, res, "v/tests/fleming-harrington").Statistic, plain.Test.Statistic)
	near(t, "expected", row(t, res, "v/expected/group=a/expected events").Estimate, plain.Expected[0])
	most, err := stats.MaxCombo(times, group, stats.MaxComboOptions{Cluster: child, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "combination", row(t, res, "v/tests/maximum-combination").P, most.Test.P)
	trend, err := stats.LogRankTrend(times, group, 2, []float64{1, 3}, stats.LogRankOptions{Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "trend", row(t, res, "v/tests/trend of the log-rank test").P, trend.Test.P)
	near(t, "pair", row(t, res, "v/pairs/group:b vs a/fleming-harrington").P, plain.Test.P)
	near(t, "pair, adjusted", row(t, res, "v/pairs/group:b vs a/fleming-harrington, adjusted").P, plain.Test.P)
	if plain.Test.P == trend.Test.P || plain.Test.P == most.Test.P {
		t.Error("the tests do not differ")
	}
	var own stats.Times
	var ids []int
	for i := range group {
		if group[i] == 0 {
			own.Exit, own.Status = append(own.Exit, times.Exit[i]), append(own.Status, times.Status[i])
			ids = append(ids, child[i])
		}
	}
	c, err := stats.KaplanMeier(own, stats.CurveOptions{Cluster: ids})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "quarter", row(t, res, "v/quantile/group=a/:0.25/time by which a share has had the event").Upper, c.Quantile(0.25).Upper)
}

// TestCurveTestRefusals holds the place and the words of what a plan may not ask.
func TestCurveTestRefusals(t *testing.T) {
	const a = "id: f, kind: time-to-event, event: {day: left, when: back}, "
	for _, c := range []struct{ text, words string }{
		{a + "by: arch, tests: [¦maximum-combination]", "compares two groups"},
		{a + "by: arch, tests: [¦fleming-harrington]", "without powers"},
		{a + "by: arch, tests: [¦trend]", "expected scores"},
		{a + "by: arch, scores: {¦normal: 1}", "expected trend among tests"},
		{a + "by: arch, tests: [trend], scores: {¦normal: 1}", "no score for level"},
		{a + "scores: {¦normal: 1}", "by names none"},
		{a + "stratify: ¦arch", "by names no groups"},
		{"¦" + a + "pairs: holm", "by names none"},
		{"¦" + a + "by: arch, powers: [0, 1]", "expected it among tests"},
		{"¦" + a + "by: arch, tests: fleming-harrington, powers: [-1, 1]", "expected two numbers"},
		{a + "by: arch, tests: [¦trend], scores: {normal: 1, pronated: 2, supinated: 3}, pairs: holm", "expected other than trend first"},
		{"¦" + a + "quantiles: [0.5]", "without 0.5"},
	} {
		refused(t, heelBook, c.text, c.words)
	}
}
