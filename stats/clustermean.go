package stats

import (
	"fmt"
	"math"
)

// ClusterMean is the mean m of values that may depend on each other within
// clusters, such as the heels of children; cluster holds the cluster of each
// value, any numbers, and nil takes values for independent. With e the sum of
// the deviations from m in a cluster, N values and G clusters,
//
//	SE² = G/(G−1) Σ e² / N²
//
// and the limits are m ± t SE, t of Student's distribution on G−1 degrees of
// freedom. Where each value is a cluster of its own they are the usual limits
// of a mean, with divisor N−1.
//
// Of a single cluster, and where the deviations vanish in every cluster, there
// is no error: SE and limits are NaN, with the warning one-cluster or
// no-variation. Clusters of several values that are fewer than 30 give the
// warning few-clusters. A level of 0 means 0.95. P is NaN. It returns ErrNoData
// without values and ErrNotFinite with the rows concerned.
//
// Liang KY, Zeger SL. Longitudinal data analysis using generalized linear
// models. Biometrika 1986;73:13-22.
func ClusterMean(values []float64, cluster []int, level float64) (Estimate, error) {
	level = confidenceLevel(level)
	s, err := newClusterSums("mean", values, cluster)
	if err != nil {
		return Estimate{}, err
	}
	e := Estimate{
		Measure: "mean", Value: s.mean, Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(), Level: level, P: math.NaN(),
		Method: fmt.Sprintf("t on %d degrees of freedom", len(s.sums)-1),
	}
	if s.clustered() {
		e.Method += " (clusters less one), " + clusterMethod(true)
	}
	switch {
	case len(s.sums) < 2:
		e.Warnings = []Warning{{"one-cluster", "All values are of one cluster: its mean has no error."}}
		return e, nil
	case s.variance() == 0:
		e.Warnings = []Warning{{"no-variation", fmt.Sprintf("All %d values are %.6g, or vary within clusters alone: the mean has no error to make limits of.", s.n, s.mean)}}
		return e, nil
	}
	e.SE = math.Sqrt(s.variance())
	half := criticalT(level, float64(len(s.sums)-1)) * e.SE
	e.Lower, e.Upper = s.mean-half, s.mean+half
	if s.clustered() {
		e.Warnings = clusterWarnings(len(s.sums))
	}
	return e, nil
}

// clusterSums are the deviations from the mean, added up by cluster in the
// order of the clusters' first values.
type clusterSums struct {
	n      int
	mean   float64
	sums   []float64
	place  map[int]int // of a cluster among sums
	spread float64     // the largest deviation
}

func newClusterSums(what string, values []float64, cluster []int) (*clusterSums, error) {
	if cluster != nil && len(cluster) != len(values) {
		panic(fmt.Sprintf("stats: %d values with %d cluster numbers", len(values), len(cluster)))
	}
	if len(values) == 0 {
		return nil, fmt.Errorf("%s: %w", what, ErrNoData)
	}
	var wrong []int
	for i, v := range values {
		if !finite(v) {
			wrong = append(wrong, i)
		}
	}
	if wrong != nil {
		return nil, fmt.Errorf("%s: %w: %d of %d values (%s)", what, ErrNotFinite, len(wrong), len(values), firstRows(wrong))
	}
	s := &clusterSums{n: len(values), place: map[int]int{}}
	s.mean, _ = meanSD(values)
	for i, v := range values {
		c := i
		if cluster != nil {
			c = cluster[i]
		}
		at, known := s.place[c]
		if !known {
			at = len(s.sums)
			s.place[c] = at
			s.sums = append(s.sums, 0)
		}
		s.sums[at] += v - s.mean
		s.spread = max(s.spread, math.Abs(v-s.mean))
	}
	return s, nil
}

// clustered reports whether a cluster has several values.
func (s *clusterSums) clustered() bool { return len(s.sums) < s.n }

// variance is that of the mean, 0 where the sums are nothing but rounding.
func (s *clusterSums) variance() float64 {
	g := float64(len(s.sums))
	squares := compensatedSum(len(s.sums), func(i int) float64 { return float64(s.sums[i] * s.sums[i]) })
	if math.Sqrt(squares) <= 1e-12*math.Max(s.spread, math.Abs(s.mean))*float64(s.n) {
		return 0
	}
	return g / (g - 1) * squares / float64(s.n) / float64(s.n)
}
