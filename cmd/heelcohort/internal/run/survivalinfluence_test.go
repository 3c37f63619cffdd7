package run

import (
	"math"
	"testing"

	"heelcohort/stats"
)

// TestCoxInfluence compares the largest change with that of models fitted anew
// without each child. What is computed is that change to first order: they are
// to agree within a fifth.
func TestCoxInfluence(t *testing.T) {
	study, v, child, group := visitStudy("  - " + visitPlan + "cluster: child, model: {terms: [age, group]}}\n")
	res := study.compute(t)
	times := visitTimes(v)
	fit := func(without int) stats.Fit {
		var own stats.Times
		var x [][]float64
		var ids []int
		for i := range child {
			if child[i] != without {
				own.Exit, own.Status = append(own.Exit, times.Exit[i]), append(own.Status, times.Status[i])
				x, ids = append(x, []float64{visitAge(i), float64(group[i])}), append(ids, child[i])
			}
		}
		f, err := stats.FitCox(own, x, []string{"age", "group"}, stats.CoxOptions{Cluster: ids})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	whole := fit(-1)
	var largest [2]float64
	for c := range 30 {
		f := fit(c)
		for j := range largest {
			largest[j] = math.Max(largest[j], math.Abs(f.Coefficients[j]-whole.Coefficients[j])/whole.SE[j])
		}
	}
	for j, id := range []string{"age", "group:b"} {
		r := row(t, res, "v/checks/"+id+"/largest change without one cluster")
		near(t, "clusters", r.N, 30)
		if got := float64(r.Estimate); math.Abs(got-largest[j]) > 0.2*largest[j] {
			t.Errorf("%s: %v, refitted %v", r.ID, got, largest[j])
		}
	}
}

// TestAmong leaves out rows that are not of the analysis, and says so.
func TestAmong(t *testing.T) {
	study, _, _, _ := visitStudy("  - " + visitPlan + "among: age > 10}\n")
	res := study.compute(t)
	others := 0.0
	for i := range 60 {
		if visitAge(i) <= 10 {
			others++
		}
	}
	near(t, "rows", row(t, res, "v/size/rows").Estimate, 60-others)
	if got := removedUnder(res, "rows", "not among those that count"); got != others {
		t.Errorf("%v left out, want %v", got, others)
	}
}
