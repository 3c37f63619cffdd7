package run

import (
	"strings"
	"testing"

	"heelcohort/stats"
)

// TestCumulativeHazard compares the rows with package stats.
func TestCumulativeHazard(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "by: group, cluster: child, hazard: true}\n")
	res := study.compute(t)
	times := visitTimes(v)
	var own stats.Times
	var ids []int
	for i := range group {
		if group[i] == 1 {
			own.Exit, own.Status, ids = append(own.Exit, times.Exit[i]), append(own.Status, times.Status[i]), append(ids, child[i])
		}
	}
	h, err := stats.NelsonAalen(own, stats.CurveOptions{Cluster: ids})
	if err != nil {
		t.Fatal(err)
	}
	r := row(t, res, "v/hazard at/group=b/cumulative hazard@80")
	near(t, "at 80", r.Estimate, h.At(80).Hazard)
	near(t, "its limit", r.Upper, h.At(80).Upper)
	last := len(h.Time) - 1
	near(t, "curve", row(t, res, "v/hazard/group=b/cumulative hazard@"+digits(h.Time[last])).SE, h.SE[last])
	if ids := strings.Join(res.Analyses[0].Figures, " "); ids != "v v-hazard" {
		t.Errorf("figures %q", ids)
	}
}
