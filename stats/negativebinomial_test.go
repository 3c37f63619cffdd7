package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

func ExampleFitNegativeBinomial() {
	// Days lost by eight children, four of them with a pronated foot.
	x := [][]float64{{0}, {0}, {0}, {0}, {1}, {1}, {1}, {1}}
	f, err := FitNegativeBinomial(x, []string{"pronated"}, []float64{0, 2, 9, 1, 3, 30, 0, 15}, nil, GLMOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("rate ratio %.1f\n", f.Estimates[0].Value) // 48 days against 12
	// Output: rate ratio 4.0
}

// By hand: with one group of equal times the mean is that of the counts, and α
// solves Σ over counts of Σ over k < y of 1/(1+αk) = n log(1+αm)/α.
func TestNegativeBinomialByHand(t *testing.T) {
	events := []float64{0, 0, 1, 2, 7, 0, 11, 3}
	f, err := FitNegativeBinomial(make([][]float64, len(events)), nil, events, nil, GLMOptions{})
	must(t, err)
	if !near(f.Coefficients[0], math.Log(3), 1e-12) {
		t.Errorf("mean %v, want 3", math.Exp(f.Coefficients[0]))
	}
	left, a := 0.0, f.Overdispersion
	for _, y := range events {
		for k := range int(y) {
			left += 1 / (1 + a*float64(k))
		}
	}
	if right := 8 * math.Log1p(3*a) / a; !near(left, right, 1e-9) {
		t.Errorf("α %v: %v against %v", a, left, right)
	}
	if se := math.Sqrt((1 + 3*a) / 24); !near(f.SE[0], se, 1e-12) {
		t.Errorf("SE %v, want %v", f.SE[0], se)
	}
}

// Counts that vary less than Poisson's: the fit is Poisson's.
func TestNegativeBinomialIsPoisson(t *testing.T) {
	x := [][]float64{{0}, {0}, {0}, {1}, {1}, {1}}
	events, time := []float64{3, 4, 3, 6, 7, 6}, []float64{1, 1, 1, 1, 1, 1}
	f, err := FitNegativeBinomial(x, []string{"a"}, events, time, GLMOptions{})
	must(t, err)
	plain, err := FitPoisson(x, []string{"a"}, events, time, GLMOptions{})
	must(t, err)
	if f.Overdispersion != 0 || !near(f.Coefficients[1], plain.Coefficients[1], 1e-12) || !near(f.SE[1], plain.SE[1], 1e-12) || !warned(f.Warnings, "no-overdispersion") {
		t.Errorf("got %+v, want Poisson's %+v", f, plain)
	}
	if test := f.Tests[len(f.Tests)-1]; test.P != 1 || test.Statistic != 0 {
		t.Errorf("test of overdispersion: %+v", test)
	}
}

func TestNegativeBinomialRefuses(t *testing.T) {
	x, terms := [][]float64{{0}, {0}, {1}, {1}}, []string{"a"}
	if _, err := FitNegativeBinomial(x, terms, []float64{1, 2.5, 0, 3}, nil, GLMOptions{}); !errors.Is(err, ErrNotWhole) {
		t.Errorf("half an event: %v", err)
	}
	if _, err := FitNegativeBinomial(x, terms, []float64{5, 9, 0, 0}, nil, GLMOptions{}); !errors.Is(err, ErrSeparation) {
		t.Errorf("a group without events: %v", err)
	}
	if _, err := FitNegativeBinomial(x, terms, make([]float64, 4), nil, GLMOptions{}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("no events: %v", err)
	}
	panics(t, "Dispersion", func() { _, _ = FitNegativeBinomial(x, terms, make([]float64, 4), nil, GLMOptions{Dispersion: true}) })
}
