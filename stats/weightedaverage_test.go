package stats

import (
	"errors"
	"math"
	"testing"
)

// A fit of three coefficients with variances 1, 4 and 4, of which the first two
// are correlated.
func fitOfThree(covariance float64) Fit {
	return Fit{
		Model: "a model", Terms: []string{"a", "b", "c"}, Coefficients: []float64{1, 2, 4}, Dispersion: 1,
		Covariance: [][]float64{{1, covariance, 0}, {covariance, 4, 0}, {0, 0, 4}},
	}
}

// Independent estimates are weighted by their inverse variances, 4 : 1 : 1 for
// all three; (4·1 + 2 + 4)/6 with the variance 4/6. Correlated ones of
// covariance 1 and variances 1 and 4 have the weights (4-1) : (1-1), and of
// covariance 1.5 the weights 2.5 : -0.5 and the variance (1·4 - 1.5²)/2.
func TestWeightedAverageByHand(t *testing.T) {
	for _, c := range []struct {
		covariance         float64
		indices            []int
		weights            []float64
		average, variance  float64
		negative, singular bool
	}{
		{0, []int{0, 1, 2}, []float64{4. / 6, 1. / 6, 1. / 6}, 10. / 6, 4. / 6, false, false},
		{0, []int{2, 1}, []float64{0, 0.5, 0.5}, 3, 2, false, false},
		{0, []int{2}, []float64{0, 0, 1}, 4, 4, false, false},
		{1, []int{0, 1}, []float64{1, 0, 0}, 1, 1, false, false},
		{1.5, []int{0, 1}, []float64{1.25, -0.25, 0}, 0.75, 1.75 / 2, true, false},
		{2, []int{0, 1}, nil, 0, 0, false, true},
	} {
		f := fitOfThree(c.covariance)
		e, weights, err := f.WeightedAverage("all", c.indices, 0.9)
		if c.singular {
			if !errors.Is(err, ErrCollinear) {
				t.Errorf("%v: %v", c, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%v: %v", c, err)
			continue
		}
		half := 1.6448536269514722 * math.Sqrt(c.variance)
		if !near(e.Value, c.average, 1e-14) || !near(e.SE*e.SE, c.variance, 1e-14) || !near(e.Lower, c.average-half, 1e-13) || !near(e.Upper, c.average+half, 1e-13) ||
			!near(e.P, math.Erfc(c.average/math.Sqrt(2*c.variance)), 1e-13) || e.Term != "all" || e.Level != 0.9 {
			t.Errorf("%v: %+v", c, e)
		}
		for i, w := range c.weights {
			if !near(weights[i], w, 1e-14) {
				t.Errorf("%v: weights %v", c, weights)
			}
		}
		if hasWarning(e.Warnings, "negative-weight") != c.negative {
			t.Errorf("%v: warnings %v", c, e.Warnings)
		}
	}
	for _, indices := range [][]int{{}, {0, 0}, {3}, {-1}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%v was taken", indices)
				}
			}()
			_, _, _ = fitOfThree(0).WeightedAverage("", indices, 0)
		}()
	}
}

// b - a = 1 with variance 1 + 4 - 2 · covariance; c = 3: 1/4; both together are
// independent and add up.
func TestWaldTestByHand(t *testing.T) {
	f := fitOfThree(1)
	difference, third := []float64{-1, 1, 0}, []float64{0, 0, 1}
	for _, c := range []struct {
		hypothesis [][]float64
		values     []float64
		want       float64
	}{
		{[][]float64{difference}, nil, 1. / 3},
		{[][]float64{third}, []float64{3}, 1. / 4},
		{[][]float64{difference, third}, []float64{0, 3}, 1./3 + 1./4},
		{[][]float64{difference, {-2, 2, 1}}, []float64{0, 3}, 1./3 + 1./4}, // the same two, written otherwise
		{[][]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, nil, f.JointTest("", []int{0, 1, 2}).Statistic},
		{[][]float64{difference, {-2, 2, 0}}, nil, math.NaN()},
	} {
		got := f.WaldTest("test", c.hypothesis, c.values)
		q := float64(len(c.hypothesis))
		if !near(got.Statistic, c.want, 1e-13) || got.DF != q || got.Name != "test" {
			t.Errorf("%v: %+v, want %v", c, got, c.want)
		}
		if math.IsNaN(c.want) {
			if !hasWarning(got.Warnings, "singular-covariance") || !math.IsNaN(got.P) {
				t.Errorf("%v: %+v", c, got)
			}
		} else if !near(got.P, chiSquaredTail(c.want, q), 1e-13) {
			t.Errorf("%v: P %v", c, got.P)
		}
	}
	// The joint test of a and b, by the inverse (4 -1; -1 1)/3.
	if got := f.JointTest("", []int{0, 1}).Statistic; !near(got, (4*1-2*1*2+1*4)/3., 1e-13) {
		t.Errorf("joint test %v", got)
	}
}

// With degrees of freedom a hypothesis of one equation is the t test of the
// combination, and unit rows are the joint test.
func TestWaldTestWithDegreesOfFreedom(t *testing.T) {
	x := columns([]float64{1, 1, 1, 1, 0, 0, 0, 0, 1, 0}, []float64{0, 1, 3, 2, 0, 1, 2, 4, 1, 1})
	y := []float64{2, 3, 4, 1, 1, 3, 0, 2, 5, 1}
	for _, reference := range []RobustReference{ReferenceClusters, ReferenceSatterthwaite} {
		f, err := FitPoisson(x, []string{"a", "b"}, y, nil, GLMOptions{
			Cluster: []int{1, 2, 3, 4, 5, 6, 7, 8, 8, 7}, Robust: CR2, Reference: reference,
		})
		must(t, err)
		difference := []float64{0, 1, -1}
		test, ratio := f.WaldTest("difference", [][]float64{difference}, nil), f.Ratio("difference", difference, 0)
		if !near(test.P, ratio.P, 1e-10) || !near(test.Statistic, math.Pow(math.Log(ratio.Value)/ratio.SE, 2), 1e-10) {
			t.Errorf("%s: %+v, t test %+v", reference, test, ratio)
		}
		both, joint := f.WaldTest("", [][]float64{{0, 1, 0}, {0, 0, 1}}, nil), f.JointTest("", []int{1, 2})
		if !near(both.Statistic, joint.Statistic, 1e-12) || !near(both.P, joint.P, 1e-12) || both.Method != joint.Method {
			t.Errorf("%s: %+v, joint test %+v", reference, both, joint)
		}
		average, weights, err := f.WeightedAverage("both", []int{1, 2}, 0)
		must(t, err)
		if r := f.Ratio("both", weights, 0); !near(math.Exp(average.Upper), r.Upper, 1e-12) || !near(average.P, r.P, 1e-12) {
			t.Errorf("%s: %+v, ratio %+v", reference, average, r)
		}
	}
}
