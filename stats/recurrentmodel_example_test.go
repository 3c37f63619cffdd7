package stats_test

import (
	"fmt"

	"heelcohort/stats"
)

// Episodes of eight children over 100 days, four of them with a programme: a row
// up to each episode, and the rest.
func ExampleFitRecurrent() {
	t := stats.Times{
		Entry:  []float64{0, 20, 50, 0, 60, 0, 35, 70, 0, 10, 0, 80, 0, 0, 45, 0, 90},
		Exit:   []float64{20, 50, 100, 60, 100, 35, 70, 100, 10, 100, 80, 100, 100, 45, 100, 90, 100},
		Status: []bool{true, true, false, true, false, true, true, false, true, false, true, false, false, true, false, true, false},
	}
	child := []int{1, 1, 1, 2, 2, 3, 3, 3, 4, 4, 5, 5, 6, 7, 7, 8, 8}
	var x [][]float64
	for _, c := range child {
		programme := 0.0
		if c > 4 {
			programme = 1
		}
		x = append(x, []float64{programme})
	}
	f, err := stats.FitRecurrent(t, child, x, []string{"programme"}, stats.RecurrentOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	e := f.Estimates[0]
	fmt.Printf("%d episodes of %d children: %s %.2f (%.2f to %.2f)\n", f.Events, f.Clusters, e.Measure, e.Value, e.Lower, e.Upper)
	// Output: 9 episodes of 8 children: hazard ratio 0.50 (0.26 to 0.96)
}

// Two heels of ten children, each with an onset of pain or none.
func ExampleFitCoxFrailty() {
	t := stats.Times{
		Exit: []float64{3, 4, 30, 30, 5, 9, 12, 30, 2, 6, 30, 25, 8, 3, 30, 30, 20, 14, 4, 7},
		Status: []bool{
			true, true, false, false, true, true, true, false, true, true,
			false, true, true, true, false, false, true, true, true, true,
		},
	}
	var child []int
	var x [][]float64
	for i := range t.Exit {
		child = append(child, i/2)
		x = append(x, []float64{float64(i % 2)})
	}
	f, err := stats.FitCoxFrailty(t, child, x, []string{"take-off leg"}, stats.FrailtyOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("hazard ratio %.2f, frailty variance %.2f (%.2f to %.2f), P = %.3f\n",
		f.Estimates[0].Value, f.Variance.Value, f.Variance.Lower, f.Variance.Upper, f.Variance.P)
	// Output: hazard ratio 0.66, frailty variance 2.14 (0.18 to 7.64), P = 0.011
}
