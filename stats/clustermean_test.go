package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func ExampleClusterMean() {
	// Change of pain in the heels of three children: two of them have two.
	e, err := ClusterMean([]float64{-30, -20, -10, -45, -35}, []int{1, 1, 2, 3, 3}, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f mm, standard error %.1f\n", e.Value, e.SE)
	// Output: -28 mm, standard error 7.5
}

// By hand: values 1, 3 of child A, 5 of B, 7, 9 of C. The mean is 5, the sums of
// the deviations are −6, 0 and 6, and SE² = 3/2 · 72/25 = 108/25. The quantile
// of t on 2 degrees of freedom is (2p−1)√(2/(4p(1−p))).
func TestClusterMeanByHand(t *testing.T) {
	e, err := ClusterMean([]float64{1, 3, 5, 7, 9}, []int{4, 4, 2, 9, 9}, 0)
	must(t, err)
	critical := 0.95 * math.Sqrt(2/(4*0.975*0.025))
	se := math.Sqrt(108.0 / 25)
	for _, p := range [][2]float64{{e.Value, 5}, {e.SE, se}, {e.Lower, 5 - critical*se}, {e.Upper, 5 + critical*se}} {
		if !near(p[0], p[1], 1e-12) {
			t.Errorf("got %v, want %v", p[0], p[1])
		}
	}
	if len(e.Warnings) != 1 || e.Warnings[0].Code != "few-clusters" {
		t.Errorf("warnings %v", e.Warnings)
	}
}

// Without clusters the limits are those of the paired t test.
func TestClusterMeanOfSingles(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 17))
	for range 50 {
		var a, zero, d []float64
		for range 3 + r.IntN(20) {
			x := 40 + 10*r.NormFloat64()
			a, zero, d = append(a, x), append(zero, 0), append(d, x)
		}
		want, err := PairedTest(a, zero, 0.9)
		must(t, err)
		got, err := ClusterMean(d, nil, 0.9)
		must(t, err)
		if !near(got.Value, want.Difference.Value, 1e-12) || !near(got.Lower, want.Difference.Lower, 1e-12) || !near(got.Upper, want.Difference.Upper, 1e-12) {
			t.Fatalf("%+v, want %+v", got, want.Difference)
		}
		if got.Warnings != nil {
			t.Errorf("warnings %v", got.Warnings)
		}
	}
}

func TestClusterMeanRefuses(t *testing.T) {
	if _, err := ClusterMean(nil, nil, 0); !errors.Is(err, ErrNoData) {
		t.Errorf("no values: %v", err)
	}
	if _, err := ClusterMean([]float64{1, math.NaN()}, nil, 0); !errors.Is(err, ErrNotFinite) {
		t.Errorf("a NaN: %v", err)
	}
	panics(t, "2 values with 1", func() { _, _ = ClusterMean([]float64{1, 2}, []int{1}, 0) })
	for code, c := range map[string]struct {
		values  []float64
		cluster []int
	}{
		"one-cluster":  {[]float64{1, 2}, []int{3, 3}},
		"no-variation": {[]float64{0.1, 0.3, 0.1, 0.3}, []int{1, 1, 2, 2}},
	} {
		e, err := ClusterMean(c.values, c.cluster, 0)
		must(t, err)
		if len(e.Warnings) != 1 || e.Warnings[0].Code != code || !math.IsNaN(e.Lower) || !math.IsNaN(e.SE) {
			t.Errorf("%s: %+v", code, e)
		}
	}
	if e, err := ClusterMean([]float64{7}, nil, 0); err != nil || !math.IsNaN(e.SE) {
		t.Errorf("one value: %+v, %v", e, err)
	}
}
