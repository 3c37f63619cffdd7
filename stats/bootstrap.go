package stats

import (
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
)

// DefaultReplicates is the number of resamples of a bootstrap where an option
// leaves it zero.
const DefaultReplicates = 2000

// BootstrapOptions are the choices of ClusterBootstrap; the zero value is a
// level of 0.95, 2000 replicates and seed 0.
type BootstrapOptions struct {
	Level      float64 // confidence level; 0 means 0.95
	Replicates int     // 0 means 2000; at least LeastReplicates(Level)
	Seed       uint64
}

// A Bootstrap holds what resampling clusters says of a statistic.
type Bootstrap struct {
	Lower, Upper float64 // NaN where too many replicates have no value
	SE           float64 // standard deviation of the replicates
	Level        float64
	Replicates   int
	Undefined    int // replicates without a value
	Seed         uint64
	Warnings     []Warning
}

// LeastReplicates is the fewest replicates that have limits at a level: 39 for
// 0.95.
func LeastReplicates(level float64) int {
	tail := (1 - confidenceLevel(level)) / 2
	return int(math.Ceil(1/tail-1e-9)) - 1
}

// ClusterBootstrap resamples whole clusters, such as children with all their
// episodes, with replacement, as many as there are, and takes percentiles of a
// statistic. statistic is told how often each cluster was drawn; it returns NaN
// where it has no value, must depend on nothing but the weights and is called
// from several goroutines at once, each with weights of its own.
//
// With B replicates in order and k = floor((B+1)(1−Level)/2), the limits are the
// k-th from below and the k-th from above, which are values that occurred.
// Replicates without a value are left out and counted in Undefined; where they
// are more than one in twenty the limits are NaN and a warning says so.
//
// Replicate r draws from a generator of its own, seeded with Seed and r, so that
// the limits are the same on any number of cores. The clusters are assumed to be
// independent draws from one population; nothing is assumed of rows within one.
// Limits of this sort are somewhat too narrow with few clusters: below 30 a
// warning says so. Fewer than two clusters give ErrTooFewClusters.
//
// References: Efron B, Tibshirani RJ. An Introduction to the Bootstrap. Chapman
// & Hall, 1993, ch. 13. Davison AC, Hinkley DV. Bootstrap Methods and their
// Application. Cambridge University Press, 1997, sec. 3.8 (clusters).
func ClusterBootstrap(clusters int, statistic func(weight []int) float64, opts BootstrapOptions) (Bootstrap, error) {
	b, _, err := clusterBootstrap(clusters, statistic, opts)
	return b, err
}

// clusterBootstrap is ClusterBootstrap with the replicates that have a value, in
// order.
func clusterBootstrap(clusters int, statistic func(weight []int) float64, opts BootstrapOptions) (Bootstrap, []float64, error) {
	b := Bootstrap{
		Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(),
		Level: confidenceLevel(opts.Level), Replicates: opts.Replicates, Seed: opts.Seed,
	}
	if b.Replicates == 0 {
		b.Replicates = DefaultReplicates
	}
	if least := LeastReplicates(b.Level); b.Replicates < least {
		panic(fmt.Sprintf("stats: %d replicates, expected at least %d for a level of %g", b.Replicates, least, b.Level))
	}
	if clusters < 2 {
		return b, nil, fmt.Errorf("bootstrap: %w: found %d, expected at least 2", ErrTooFewClusters, clusters)
	}
	b, defined := b.percentiles(clusters, replicates(clusters, b.Replicates, b.Seed, statistic))
	return b, defined, nil
}

// percentiles takes the limits from the replicates' values, and returns those
// that there are in order, nil where limits are not estimable.
func (b Bootstrap) percentiles(clusters int, values []float64) (Bootstrap, []float64) {
	defined := slices.DeleteFunc(values, math.IsNaN)
	b.Undefined = b.Replicates - len(defined)
	if clusters < fewClusters {
		b.Warnings = append(b.Warnings, Warning{"few-clusters", fmt.Sprintf(
			"The bootstrap rests on %d clusters; below %d its limits tend to be too narrow.", clusters, fewClusters)})
	}
	if b.Undefined > 0 {
		b.Warnings = append(b.Warnings, Warning{"undefined-replicates", fmt.Sprintf(
			"%d of %d replicates of the bootstrap have no value and are left out.", b.Undefined, b.Replicates)})
	}
	if b.Undefined*20 > b.Replicates || len(defined) < LeastReplicates(b.Level) {
		b.Warnings = append([]Warning{{"limit-not-estimable", fmt.Sprintf(
			"The limits are not estimable: %d of %d replicates of the bootstrap have no value.", b.Undefined, b.Replicates)}}, b.Warnings...)
		return b, nil
	}
	_, b.SE = meanSD(defined)
	slices.Sort(defined)
	k := int(math.Floor(float64(len(defined)+1)*(1-b.Level)/2 + 1e-9))
	b.Lower, b.Upper = defined[k-1], defined[len(defined)-k]
	return b, defined
}

// replicates are the values of the statistic in the order of the replicates.
func replicates(clusters, n int, seed uint64, statistic func([]int) float64) []float64 {
	values := make([]float64, n)
	resample(clusters, n, seed, func(r int, weight []int) { values[r] = statistic(weight) })
	return values
}

// resample calls visit once for each replicate, from several goroutines at
// once, with how often each cluster was drawn.
func resample(clusters, n int, seed uint64, visit func(r int, weight []int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			weight := make([]int, clusters)
			for r := w; r < n; r += workers {
				clear(weight)
				source := rand.NewPCG(seed, uint64(r))
				for range clusters {
					drawn, _ := bits.Mul64(source.Uint64(), uint64(clusters))
					weight[drawn]++
				}
				visit(r, weight)
			}
		})
	}
	wg.Wait()
}
