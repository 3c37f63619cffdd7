package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Above chunkRows rows are scaled and added up in another order. Every row once
// more changes no coefficient and halves the covariance, so that a sample that is
// summed in the plain way says what the larger one must give; columns far from 0
// and of very different size test the scaling.
func TestLargeModelsAreThoseOfTheirHalves(t *testing.T) {
	r := rand.New(rand.NewPCG(81, 92))
	const n = chunkRows/2 + 3 // twice that is no multiple of four rows
	x, yes, counts, time := newMatrix(n, 3), make([]bool, n), make([]float64, n), make([]float64, n)
	for i := range x {
		x[i] = []float64{float64(r.IntN(2)), 2e6 + 1000*r.NormFloat64(), 1e-3 * r.Float64()}
		eta := -1 + 0.5*x[i][0] + (x[i][1]-2e6)/2000 + 400*x[i][2]
		yes[i] = r.Float64() < 1/(1+math.Exp(-eta))
		time[i] = 0.5 + r.Float64()
		counts[i] = float64(randomPoisson(r, time[i]*math.Exp(eta/2)))
	}
	terms := []string{"a", "b", "c"}
	twice, yesTwice := slices.Concat(x, x), slices.Concat(yes, yes)
	compare := func(model string, half, whole Fit, err, other error) {
		t.Helper()
		must(t, err)
		must(t, other)
		if !near(whole.LogLik, 2*half.LogLik, 1e-11) || !near(whole.NullLogLik, 2*half.NullLogLik, 1e-11) {
			t.Errorf("%s: log likelihood %v, want %v", model, whole.LogLik, 2*half.LogLik)
		}
		for j := range half.Coefficients {
			if !nearRelative(whole.Coefficients[j], half.Coefficients[j], 1e-8) || !nearRelative(whole.SE[j], half.SE[j]/math.Sqrt2, 1e-8) {
				t.Errorf("%s, %s: %v (%v), want %v (%v)", model, half.Terms[j], whole.Coefficients[j], whole.SE[j], half.Coefficients[j], half.SE[j]/math.Sqrt2)
			}
		}
	}
	half, err := FitLogistic(x, terms, yes, GLMOptions{})
	whole, other := FitLogistic(twice, terms, yesTwice, GLMOptions{})
	compare("logistic", half, whole, err, other)
	half, err = FitPoisson(x, terms, counts, time, GLMOptions{})
	whole, other = FitPoisson(twice, terms, slices.Concat(counts, counts), slices.Concat(time, time), GLMOptions{})
	compare("Poisson", half, whole, err, other)

	for _, row := range twice {
		row[2] = 7.7
	}
	if _, err := FitLogistic(twice, terms, yesTwice, GLMOptions{}); !errors.Is(err, ErrCollinear) {
		t.Errorf("a constant column: %v", err)
	}
	for _, row := range twice {
		row[2] = 3*row[0] - row[1]/500
	}
	if _, err := FitLogistic(twice, terms, yesTwice, GLMOptions{}); !errors.Is(err, ErrCollinear) {
		t.Errorf("a combination: %v", err)
	}
}
