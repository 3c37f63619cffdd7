package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// randomHeels are times of heels of children, two to a child, with late entry.
func randomHeels(seed uint64, n int) (t Times, child []int) {
	r := rand.New(rand.NewPCG(seed, 41))
	for i := range n {
		entry := math.Floor(5 * r.Float64())
		t.Entry = append(t.Entry, entry)
		t.Exit = append(t.Exit, entry+1+math.Floor(60*r.ExpFloat64()))
		t.Status = append(t.Status, r.Float64() < 0.8)
		child = append(child, i/2)
	}
	// Somebody is there all along.
	t.Entry, t.Exit, t.Status, child = append(t.Entry, 0, 0), append(t.Exit, 500, 500), append(t.Status, true, true), append(child, n, n)
	return t, child
}

// TestRestrictedMeanDifferenceOfSeparateGroups: without a child in both, the
// variances of curves with errors robust by child add up; without clusters
// Greenwood's do.
func TestRestrictedMeanDifferenceOfSeparateGroups(t *testing.T) {
	for seed := range uint64(20) {
		one, a := randomHeels(seed, 40)
		zero, b := randomHeels(seed+50, 30)
		for i := range b {
			b[i] += 1000
		}
		for _, clustered := range []bool{false, true} {
			opts, of := RestrictedMeanOptions{}, []CurveOptions{{}, {}}
			if clustered {
				opts.OneCluster, opts.ZeroCluster = a, b
				of = []CurveOptions{{Cluster: a}, {Cluster: b}}
			}
			got, err := RestrictedMeanDifference(one, zero, 90, opts)
			must(t, err)
			left := mustCurve(t, one, of[0]).RestrictedMean(90)
			right := mustCurve(t, zero, of[1]).RestrictedMean(90)
			if !near(got.Value, left.Value-right.Value, 1e-9) || !near(got.SE, math.Hypot(left.SE, right.SE), 1e-9) {
				t.Errorf("seed %d, clustered %v: %v ± %v, want %v ± %v", seed, clustered, got.Value, got.SE, left.Value-right.Value, math.Hypot(left.SE, right.SE))
			}
		}
	}
}

// TestRestrictedMeanDifferenceOfSharedChildren holds the error against
// derivatives of the two areas by the weight of each child, taken numerically.
func TestRestrictedMeanDifferenceOfSharedChildren(t *testing.T) {
	one, child := randomHeels(7, 40)
	zero, _ := randomHeels(8, 40)
	got, err := RestrictedMeanDifference(one, zero, 90, RestrictedMeanOptions{OneCluster: child, ZeroCluster: child})
	must(t, err)
	difference := func(of int, by float64) float64 {
		w := make([]float64, len(child))
		for i, c := range child {
			if w[i] = 1; c == of {
				w[i] += by
			}
		}
		return mustCurve(t, one, CurveOptions{Weights: w}).RestrictedMean(90).Value - mustCurve(t, zero, CurveOptions{Weights: w}).RestrictedMean(90).Value
	}
	sum, seen := 0.0, map[int]bool{}
	for _, c := range child {
		if seen[c] {
			continue
		}
		seen[c] = true
		d := (difference(c, 1e-5) - difference(c, -1e-5)) / 2e-5
		sum += d * d
	}
	if want := math.Sqrt(sum); !near(got.SE, want, 1e-6*want) {
		t.Errorf("SE %v, by derivatives %v", got.SE, want)
	}
	separate, err := RestrictedMeanDifference(one, zero, 90, RestrictedMeanOptions{})
	must(t, err)
	if got.Value != separate.Value {
		t.Errorf("%v, without clusters %v", got.Value, separate.Value)
	}
}

// A group without the event adds no error of its own, which is told.
func TestRestrictedMeanDifferenceWithoutVariance(t *testing.T) {
	none := Times{Exit: []float64{20, 20, 20}, Status: []bool{false, false, false}}
	some := Times{Exit: []float64{4, 8, 20, 20}, Status: []bool{true, true, false, false}}
	e, err := RestrictedMeanDifference(none, some, 10, RestrictedMeanOptions{})
	must(t, err)
	// The other's mean is of 4, 8, 10 and 10: 8, with the variance 6/4.
	if !near(e.Value, 2, 1e-14) || !near(e.SE, math.Sqrt(6.0/4), 1e-12) || !warned(e.Warnings, "group-without-variance") {
		t.Errorf("%+v", e)
	}
	early := Times{Entry: []float64{0, 5, 5}, Exit: []float64{3, 9, 12}, Status: []bool{true, true, true}}
	if e, err = RestrictedMeanDifference(some, early, 10, RestrictedMeanOptions{}); err != nil || !warned(e.Warnings, "zero-while-at-risk") {
		t.Errorf("%+v, %v", e, err)
	}
	if e, err = RestrictedMeanDifference(some, some, 10, RestrictedMeanOptions{}); err != nil || len(e.Warnings) != 0 {
		t.Errorf("%+v, %v", e, err)
	}
}

func TestRestrictedMeanDifferenceRefuses(t *testing.T) {
	short := Times{Exit: []float64{1, 2}, Status: []bool{true, false}}
	long := Times{Exit: []float64{1, 2}, Status: []bool{true, true}}
	if _, err := RestrictedMeanDifference(short, long, 10, RestrictedMeanOptions{}); !errors.Is(err, ErrBeyondData) {
		t.Errorf("a curve that ends early: %v", err)
	}
	if _, err := RestrictedMeanDifference(long, long, 0.5, RestrictedMeanOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("no event before the horizon: %v", err)
	}
	if _, err := RestrictedMeanDifference(long, long, 1.5, RestrictedMeanOptions{OneCluster: []int{1, 1}, ZeroCluster: []int{1, 1}}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one cluster: %v", err)
	}
	if _, err := RestrictedMeanDifference(Times{}, long, 1, RestrictedMeanOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("no rows: %v", err)
	}
	panics(t, "horizon", func() { _, _ = RestrictedMeanDifference(long, long, 0, RestrictedMeanOptions{}) })
}
