package plots_test

import (
	"bytes"
	"fmt"
	"math"

	"heelcohort/plots"
	"heelcohort/stats"
)

// estimate is a value with its limits.
func estimate(value, lower, upper float64) stats.Estimate {
	return stats.Estimate{Value: value, Lower: lower, Upper: upper, Level: 0.95, P: math.NaN()}
}

// No child under 8 had an episode: the exact upper limit is finite, and the
// marker stands on the axis.
func ExampleRates() {
	figure, err := plots.Rates{
		Title: "First episodes", XLabel: "Age (years)", YLabel: "per 1,000 hours",
		Groups: []string{"6–7", "8–9"},
		Series: []plots.RateSeries{{Estimates: []stats.Estimate{estimate(0, 0, 0.92), estimate(1.42, 0.96, 2.01)}}},
	}.Draw()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(figure.Text())
	fmt.Printf("%.0f mm wide\n", figure.Size().Width)
	// Output:
	// Rates: per 1,000 hours, by Age (years). 6–7: 0 (0 to 0.92). 8–9: 1.42 (0.96 to 2.01).
	// 174 mm wide
}

func ExampleForest() {
	figure, err := plots.Forest{
		XLabel: "Odds ratio (95% CI)", Log: true, Null: 1,
		LabelHead: "Arch type", CountHead: "Events/n", TextHead: "Odds ratio (95% CI)",
		Rows: []plots.ForestRow{
			{Label: "Normal", Count: "103/742", NoValue: "1 (reference)"},
			{Label: "Pronated", Count: "74/287", Text: "2.16 (1.54 to 3.02)", Estimate: estimate(2.16, 1.54, 3.02)},
		},
		Size: plots.Size{Width: plots.SingleColumn},
	}.Draw()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(figure.Text())
	// Output: Forest plot: Odds ratio (95% CI). Normal 1 (reference); Pronated 2.16 (1.54 to 3.02).
}

func ExampleSurvival() {
	figure, err := plots.Survival{
		Title: "Return to match play", XLabel: "Days since onset", YLabel: "Not yet returned",
		Ticks: []float64{0, 28},
		Curves: []plots.SurvivalCurve{{
			Curve:  stats.Curve{Time: []float64{14, 30}, Survival: []float64{0.75, 0.5}, Censored: []int{0, 1}},
			AtRisk: []int{4, 3}, Events: []int{0, 1},
		}},
	}.Draw()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(figure.Text())
	// Output: Survival curves: Not yet returned, by Days since onset. at 0: 100.0% with 4 at risk, 28: 75.0% with 3 at risk.
}

// The same figure gives the same bytes.
func ExampleFigure_Save() {
	figure, err := plots.Rates{
		Title: "One point", Groups: []string{"all"},
		Series: []plots.RateSeries{{Estimates: []stats.Estimate{estimate(2, 1, math.Inf(1))}}},
	}.Draw()
	if err != nil {
		fmt.Println(err)
		return
	}
	var first, second bytes.Buffer
	for _, w := range []*bytes.Buffer{&first, &second} {
		if err := figure.Save(w, "pdf"); err != nil {
			fmt.Println(err)
			return
		}
	}
	fmt.Println(bytes.Equal(first.Bytes(), second.Bytes()))
	fmt.Println(figure.Save(&first, "gif"))
	// Output:
	// true
	// plots: format "gif", want svg, pdf, png
}
