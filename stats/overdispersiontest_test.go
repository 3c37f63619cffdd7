package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// By hand: counts 0, 1, 2, 5 have the mean 2 and leverages 1/4. (y−μ)² − y is 4,
// 0, −2, 4: Dean's statistic is (6 + 4·2/4)/sqrt(2·16) = 8/sqrt(32). Divided by
// μ they are 2, 0, −1, 2 with mean 3/4; on 1 the residual sum of squares is
// 9 − 4·9/16 = 27/4, the variance of the mean 27/4/3/4 and t = 3/4 over its root;
// on μ = 2 in all rows t is the same.
func TestOverdispersionByHand(t *testing.T) {
	tests, err := OverdispersionTests(make([][]float64, 4), nil, []float64{0, 1, 2, 5}, nil)
	must(t, err)
	for i, want := range []float64{8 / math.Sqrt(32), 0.75 / math.Sqrt(27.0/48), 0.75 / math.Sqrt(27.0/48)} {
		if !near(tests[i].Statistic, want, 1e-12) || !near(tests[i].P, twoSidedNormalP(want)/2, 1e-14) {
			t.Errorf("%s: %+v, want %v", tests[i].Name, tests[i], want)
		}
	}
	// Counts that do not vary at all: below, and a regression without residuals.
	flat, err := OverdispersionTests(make([][]float64, 4), nil, []float64{2, 2, 2, 2}, nil)
	must(t, err)
	if flat[0].P < 0.8 || !math.IsNaN(flat[1].Statistic) || !math.IsNaN(flat[1].P) {
		t.Errorf("counts all equal: %+v", flat)
	}
	if _, err := OverdispersionTests([][]float64{{0}, {1}}, []string{"a"}, []float64{1, 2}, nil); !errors.Is(err, ErrTooFewRows) {
		t.Errorf("no row left: %v", err)
	}
	if _, err := OverdispersionTests([][]float64{{0}, {1}, {1}}, []string{"a"}, []float64{0, 2, 1}, nil); !errors.Is(err, ErrSeparation) {
		t.Errorf("separation: %v", err)
	}
}

// Under Poisson's variance one in twenty is below 5%, within four standard
// errors for Dean's adjusted test of 200 counts.
func TestOverdispersionLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(55, 1))
	const runs = 1000
	small := 0
	for range runs {
		x, y := make([][]float64, 200), make([]float64, 200)
		for i := range x {
			x[i] = []float64{float64(i % 2)}
			y[i] = float64(randomPoisson(r, 1.5+x[i][0]))
		}
		tests, err := OverdispersionTests(x, []string{"a"}, y, nil)
		must(t, err)
		if tests[0].P < 0.05 {
			small++
		}
	}
	if share := float64(small) / runs; math.Abs(share-0.05) > 4*math.Sqrt(0.05*0.95/runs) {
		t.Errorf("%v of tests below 5%%", share)
	}
}
