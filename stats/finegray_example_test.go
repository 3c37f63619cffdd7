package stats_test

import (
	"fmt"

	"heelcohort/stats"
)

// Weeks until a child with heel pain returned to sport (1), gave it up (2) or
// was last seen (0), and hours of sport a week before.
var heels = stats.CompetingTimes{
	Exit:  []float64{3, 4, 5, 6, 6, 8, 9, 10, 12, 12, 14, 16, 18, 20, 22, 26},
	Cause: []int{1, 1, 2, 1, 1, 2, 0, 1, 1, 2, 1, 0, 1, 2, 1, 0},
}

// Coefficient, error and incidences are also those of R 4.2.2, cmprsk 2.2-11,
// which gives no limits of incidences.
func ExampleFitFineGray() {
	hours := []float64{5, 2, 9, 4, 3, 8, 6, 2, 7, 9, 3, 5, 6, 10, 4, 3}
	x := make([][]float64, len(hours))
	for i, h := range hours {
		x[i] = []float64{h}
	}
	f, err := stats.FitFineGray(heels, 1, x, []string{"hours"}, stats.FineGrayOptions{Ties: stats.TiesBreslow})
	if err != nil {
		fmt.Println(err)
		return
	}
	e := f.Estimates[0]
	fmt.Printf("%s of an hour %.3f (%.3f to %.3f)\n", e.Measure, e.Value, e.Lower, e.Upper)
	fmt.Printf("coefficient %.4f, SE %.4f\n", f.Coefficients[0], f.SE[0])
	points, err := f.PredictedIncidence([]float64{4}, []float64{6, 12}, stats.IncidenceOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range points {
		fmt.Printf("back by week %2.0f with 4 hours: %.4f (%.2f to %.2f)\n", p.Time, p.Incidence, p.Lower, p.Upper)
	}
	// Output:
	// subdistribution hazard ratio of an hour 0.683 (0.530 to 0.881)
	// coefficient -0.3807, SE 0.1298
	// back by week  6 with 4 hours: 0.2796 (0.10 to 0.49)
	// back by week 12 with 4 hours: 0.4612 (0.19 to 0.70)
}
