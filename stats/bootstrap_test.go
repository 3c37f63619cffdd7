package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// weightedMean is the mean of values that are drawn so often.
func weightedMean(values []float64) func([]int) float64 {
	return func(weight []int) float64 {
		sum, n := 0.0, 0
		for i, w := range weight {
			sum += float64(w) * values[i]
			n += w
		}
		return sum / float64(n)
	}
}

// every calls f with each of the n^n equally likely samples of n clusters.
func every(n int, f func(weight []int)) {
	for code := range int(math.Pow(float64(n), float64(n)) + 0.5) {
		weight := make([]int, n)
		for range n {
			weight[code%n]++
			code /= n
		}
		f(weight)
	}
}

// With four clusters all 256 samples can be listed. The limits are to be their
// exact percentiles, and SE the standard deviation of the list. Tolerances: a
// share of 200,000 replicates has a standard error of at most 0.0011, so the
// limits' exact probabilities are compared to 0.004; SE to 1%, over six times
// its own error.
func TestClusterBootstrapAgainstEnumeration(t *testing.T) {
	for _, values := range [][]float64{{0, 1, 3, 10}, {2, 2, 5, 40}, {1, 2, 4, 8}} {
		statistic := weightedMean(values)
		var all []float64
		every(len(values), func(w []int) { all = append(all, statistic(w)) })
		slices.Sort(all)
		b, err := ClusterBootstrap(len(values), statistic, BootstrapOptions{Level: 0.9, Replicates: 200_000, Seed: 5})
		must(t, err)
		below := func(x float64) (less, atMost float64) {
			for _, v := range all {
				if v < x-1e-12 {
					less++
				}
				if v < x+1e-12 {
					atMost++
				}
			}
			return less / float64(len(all)), atMost / float64(len(all))
		}
		if less, atMost := below(b.Lower); less > 0.054 || atMost < 0.046 {
			t.Errorf("%v: lower limit %v has %v below it and %v up to it, want 0.05 between", values, b.Lower, less, atMost)
		}
		if less, atMost := below(b.Upper); less > 0.954 || atMost < 0.946 {
			t.Errorf("%v: upper limit %v has %v below it and %v up to it, want 0.95 between", values, b.Upper, less, atMost)
		}
		mean, squares := 0.0, 0.0
		for _, v := range all {
			mean += v / float64(len(all))
		}
		for _, v := range all {
			squares += (v - mean) * (v - mean) / float64(len(all))
		}
		if !nearRelative(b.SE, math.Sqrt(squares), 0.01) {
			t.Errorf("%v: SE %v, by enumeration %v", values, b.SE, math.Sqrt(squares))
		}
	}
}

// The percentiles by their definition: with B = 39 at 0.95 the first and the
// last, with B = 99 at 0.9 the fifth from either end.
func TestClusterBootstrapPercentiles(t *testing.T) {
	for _, c := range []struct {
		level float64
		n, k  int
	}{{0.95, 39, 1}, {0.9, 99, 5}, {0.95, 2000, 50}, {0.99, 1999, 10}} {
		r := rand.New(rand.NewPCG(3, 3))
		values := make([]float64, 40)
		for i := range values {
			values[i] = r.NormFloat64()
		}
		statistic := weightedMean(values)
		b, err := ClusterBootstrap(40, statistic, BootstrapOptions{Level: c.level, Replicates: c.n, Seed: 9})
		must(t, err)
		list := replicates(40, c.n, 9, statistic)
		slices.Sort(list)
		if b.Lower != list[c.k-1] || b.Upper != list[c.n-c.k] {
			t.Errorf("%d replicates at %v: %v to %v, want the %d-th from the ends, %v to %v",
				c.n, c.level, b.Lower, b.Upper, c.k, list[c.k-1], list[c.n-c.k])
		}
		if got := LeastReplicates(c.level); got < 1 || c.n < got {
			t.Errorf("least replicates at %v: %d", c.level, got)
		}
	}
	if LeastReplicates(0.95) != 39 || LeastReplicates(0.9) != 19 || LeastReplicates(0.99) != 199 {
		t.Errorf("least replicates %d, %d, %d, want 39, 19, 199", LeastReplicates(0.95), LeastReplicates(0.9), LeastReplicates(0.99))
	}
}

// The same seed gives the same limits on one core and on several, and another
// seed others.
func TestClusterBootstrapCores(t *testing.T) {
	values := []float64{0.1, 7, 2, 9.5, 3, 4, 1.25, 8, 0, 2}
	run := func(cores int, seed uint64) Bootstrap {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		b, err := ClusterBootstrap(len(values), weightedMean(values), BootstrapOptions{Seed: seed})
		must(t, err)
		return b
	}
	one := run(1, 4)
	for _, cores := range []int{2, 3, 7} {
		if d := cmp.Diff(one, run(cores, 4)); d != "" {
			t.Errorf("on %d cores:\n%s", cores, d)
		}
	}
	if other := run(2, 5); other.SE == one.SE {
		t.Error("another seed gives the same replicates")
	}
}

func TestClusterBootstrapUndefined(t *testing.T) {
	without := func(share float64) Bootstrap {
		n := 0
		values := slices.Repeat([]float64{1, 2, 3, 4}, 10)
		mean := weightedMean(values)
		b, err := ClusterBootstrap(40, func(w []int) float64 {
			if n++; float64(n%100) < 100*share {
				return math.NaN()
			}
			return mean(w)
		}, BootstrapOptions{Replicates: 1000})
		must(t, err)
		return b
	}
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1)) // the count above is not shared
	if b := without(0.02); b.Undefined != 20 || math.IsNaN(b.Lower) || !warned(b.Warnings, "undefined-replicates") {
		t.Errorf("20 of 1000 undefined: %+v", b)
	}
	if b := without(0.06); b.Undefined != 60 || !math.IsNaN(b.Lower) || !math.IsNaN(b.Upper) || b.Warnings[0].Code != "limit-not-estimable" {
		t.Errorf("60 of 1000 undefined: %+v", b)
	}
	if _, err := ClusterBootstrap(1, weightedMean([]float64{1}), BootstrapOptions{}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one cluster: %v", err)
	}
	panics(t, "expected at least 39", func() {
		_, _ = ClusterBootstrap(3, weightedMean([]float64{1, 2, 3}), BootstrapOptions{Replicates: 38})
	})
}
