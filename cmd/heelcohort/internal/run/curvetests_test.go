package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/stats"
)

// TestCurveTests compares the tests of the plan, in strata by age, with direct
// calls on the times by hand. A row without age has no stratum.
func TestCurveTests(t *testing.T) {
	const plan = "{id: f, kind: time-to-event, start: onset, entry: seen, event: {day: left, when: back}, by: arch, "
	study := heelStudy(plan+"tests: [tarone-ware, log-rank], stratify: old}", heelRows)
	study["study.yaml"] = strings.Replace(study["study.yaml"], "analyses:", "derive:\n  heels:\n    - {name: old, value: age >= 10}\nanalyses:", 1)
	res := study.compute(t)
	var times stats.Times
	var arch, strata []int
	for i, age := range heelAge {
		if !math.IsNaN(age) {
			times.Entry, times.Exit, times.Status = append(times.Entry, heelTimes.Entry[i]), append(times.Exit, heelTimes.Exit[i]), append(times.Status, heelTimes.Status[i])
			arch = append(arch, heelArch[i])
			old := 0
			if age >= 10 {
				old = 1
			}
			strata = append(strata, old)
		}
	}
	for name, kind := range map[string]stats.WeightKind{"tarone-ware": stats.TaroneWare, "log-rank": stats.EqualWeights} {
		w, err := stats.LogRank(times, arch, 2, stats.LogRankOptions{Strata: strata, Weight: stats.LogRankWeight{Kind: kind}})
		r := row(t, res, "f/tests/"+name)
		if err != nil {
			if r.Reason != err.Error() {
				t.Errorf("%s: %q, want %v", name, r.Reason, err)
			}
			continue
		}
		near(t, name, r.Statistic, w.Test.Statistic)
		near(t, "n", r.N, 7)
	}
	for text, want := range map[string]string{
		plan + "tests: [log-rank, log-rank]}": "stands twice",
		plan + "tests: logrank}":              `did you mean "log-rank"?`,
		plan + "stratify: arch}":              "other than that of by",
		"{id: f, kind: time-to-event, event: {day: left, when: back}, tests: log-rank}": "expected a grouping variable",
	} {
		_, err := Read(heelStudy(text, heelRows).write(t))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", text, err, want)
		}
	}
}
