package stats_test

import (
	"fmt"
	"math"

	"heelcohort/stats"
)

// Days to the return to sport, known between two visits or exactly, with and
// without an insole.
func ExampleFitParametricSurvival() {
	inf := math.Inf(1)
	v := stats.EnteredIntervals{Intervals: stats.Intervals{
		Left:  []float64{14, 28, 21, 42, 0, 28, 42, 56, 60, 84},
		Right: []float64{28, 42, 21, 56, 14, 56, 84, 56, inf, inf},
	}}
	x := [][]float64{{1}, {1}, {1}, {1}, {1}, {0}, {0}, {0}, {0}, {0}}
	f, err := stats.FitParametricSurvival(v, x, []string{"insole"}, stats.Weibull, stats.ParametricOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	ratio, median := f.Estimates[0], f.Quantile([]float64{1}, 0.5, 0)
	fmt.Printf("%s %.2f (%.2f to %.2f), median with insole %.0f days (%.0f to %.0f)\n",
		ratio.Measure, ratio.Value, ratio.Lower, ratio.Upper, median.Value, median.Lower, median.Upper)
	// Output: time ratio 0.39 (0.21 to 0.74), median with insole 27 days (17 to 41)
}
