package stats_test

import (
	"errors"
	"fmt"

	"heelcohort/stats"
)

// The numbers of these examples are also those of R 4.2.2, survival 3.5-3.

// Days from onset to the first full training of ten episodes; in two of them
// the child joined the registry only some days after onset.
var returns = stats.Times{
	Entry:  []float64{0, 0, 0, 0, 0, 0, 0, 0, 14, 21},
	Exit:   []float64{21, 28, 35, 35, 42, 56, 56, 70, 49, 63},
	Status: []bool{true, true, true, false, true, true, false, false, true, true},
}

func ExampleKaplanMeier() {
	c, err := stats.KaplanMeier(returns, stats.CurveOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, day := range c.Time {
		fmt.Printf("day %2.0f  at risk %d  returned %d  still out %.3f (%.3f to %.3f)\n",
			day, c.AtRisk[i], c.Events[i], c.Survival[i], c.Lower[i], c.Upper[i])
	}
	m := c.Quantile(0.5)
	fmt.Printf("median %.0f days (%.0f to %.0f)\n", m.Value, m.Lower, m.Upper)
	// Output:
	// day 21  at risk 9  returned 1  still out 0.889 (0.433 to 0.984)
	// day 28  at risk 9  returned 1  still out 0.790 (0.390 to 0.943)
	// day 35  at risk 8  returned 1  still out 0.691 (0.317 to 0.888)
	// day 42  at risk 6  returned 1  still out 0.576 (0.224 to 0.816)
	// day 49  at risk 5  returned 1  still out 0.461 (0.146 to 0.732)
	// day 56  at risk 4  returned 1  still out 0.346 (0.083 to 0.635)
	// day 63  at risk 2  returned 1  still out 0.173 (0.011 to 0.505)
	// day 70  at risk 1  returned 0  still out 0.173 (0.011 to 0.505)
	// median 49 days (21 to +Inf)
}

func ExampleCurve_RiskTable() {
	c, err := stats.KaplanMeier(returns, stats.CurveOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	atRisk, events, censored := c.RiskTable([]float64{0, 28, 56, 84})
	fmt.Println("at risk ", atRisk)
	fmt.Println("returned", events)
	fmt.Println("censored", censored)
	// Output:
	// at risk  [8 9 4 0]
	// returned [0 2 6 7]
	// censored [0 0 2 3]
}

func ExampleLogRank() {
	arch := []int{0, 1, 0, 1, 0, 1, 1, 0, 0, 1} // 0 normal, 1 pronated
	r, err := stats.LogRank(returns, arch, 2, stats.LogRankOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("observed %.0f, expected %.2f\n", r.Observed, r.Expected)
	fmt.Printf("chi-squared %.3f on %.0f, P = %.2f\n", r.Test.Statistic, r.Test.DF, r.Test.P)
	for _, w := range r.Test.Warnings {
		fmt.Println(w.Text)
	}
	// Output:
	// observed [4 3], expected [3.15 3.85]
	// chi-squared 0.432 on 1, P = 0.51
	// Group 1 of 2 has 3.15 expected events, fewer than 5: the P value is rough.
	// Group 2 of 2 has 3.85 expected events, fewer than 5: the P value is rough.
}

func ExampleFitCox() {
	child := []int{1, 1, 2, 3, 4, 5, 5, 6, 7, 8} // both heels of two children
	x := [][]float64{{0}, {1}, {0}, {1}, {0}, {1}, {1}, {0}, {0}, {1}}
	f, err := stats.FitCox(returns, x, []string{"arch=pronated"}, stats.CoxOptions{Cluster: child})
	if err != nil {
		fmt.Println(err)
		return
	}
	e := f.Estimates[0]
	fmt.Printf("%s of %s: %.2f (%.2f to %.2f)\n", e.Measure, e.Term, e.Value, e.Lower, e.Upper)
	fmt.Println(e.Method)
	for _, w := range f.Warnings {
		fmt.Println(w.Code)
	}

	// Nobody with x = 1 returned: the ratio has no finite estimate.
	x = [][]float64{{0}, {0}, {0}, {1}, {0}, {0}, {1}, {1}, {0}, {0}}
	_, err = stats.FitCox(returns, x, []string{"custom orthosis"}, stats.CoxOptions{})
	fmt.Println(errors.Is(err, stats.ErrSeparation))
	// Output:
	// hazard ratio of arch=pronated: 0.60 (0.18 to 2.01)
	// Wald limits, Efron ties, cluster-robust, uncorrected
	// few-clusters
	// few-events
	// true
}

// Weeks of twelve children until pain came back in the left and in the right
// heel, by whether they play football (fb).
func ExampleFitMarginalCox() {
	var rows stats.Times
	var x [][]float64
	var heel, child []int
	for id, c := range []struct {
		fb                    float64
		left, right           float64
		leftAgain, rightAgain bool
	}{
		{1, 4, 6, true, true},
		{1, 7, 20, true, false},
		{1, 3, 9, true, true},
		{1, 20, 5, false, true},
		{1, 11, 8, true, true},
		{1, 6, 14, true, true},
		{0, 9, 20, true, false},
		{0, 20, 12, false, true},
		{0, 15, 17, true, true},
		{0, 20, 20, false, false},
		{0, 5, 13, true, true},
		{0, 18, 20, false, false},
	} {
		rows.Exit = append(rows.Exit, c.left, c.right)
		rows.Status = append(rows.Status, c.leftAgain, c.rightAgain)
		x = append(x, []float64{c.fb}, []float64{c.fb})
		heel, child = append(heel, 0, 1), append(child, id, id)
	}
	f, err := stats.FitMarginalCox(rows, x, []string{"fb"}, heel, []string{"left", "right"}, stats.CoxOptions{Cluster: child})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, term := range f.Terms {
		fmt.Printf("%-10s  %.4f (SE %.4f)\n", term, f.Coefficients[i], f.SE[i])
	}
	equal := f.WaldTest("equal", [][]float64{{1, -1}}, nil)
	fmt.Printf("equal: chi-squared %.4f on %.0f, P = %.3f\n", equal.Statistic, equal.DF, equal.P)
	average, weights, err := f.WeightedAverage("fb", []int{0, 1}, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	ratio := f.Ratio("fb", weights, 0)
	fmt.Printf("average %.4f (SE %.4f), hazard ratio %.2f (%.2f to %.2f)\n", average.Value, average.SE, ratio.Value, ratio.Lower, ratio.Upper)
	// Output:
	// fb (left)   1.0686 (SE 0.6788)
	// fb (right)  1.2059 (SE 0.6715)
	// equal: chi-squared 0.0211 on 1, P = 0.885
	// average 1.1380 (SE 0.4816), hazard ratio 3.12 (1.21 to 8.02)
}
