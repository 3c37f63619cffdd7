package stats

import (
	"fmt"
	"math"
)

// ClusterProportion is the share of rows that have something, with limits for
// rows that may depend on each other within clusters; cluster is as for
// ClusterMean. They are Wilson's limits of a share p of
//
//	n* = n/d × (t(n−1)/t(G−1))²,   d = V / (p(1−p)/(n−1))
//
// independent rows, but not of more than n: V is the robust variance of the
// share (that of ClusterMean, as of a linear probability model), d the design
// effect, and the quotient of Student's quantiles allows for V being made from
// G clusters alone. Where each row is a cluster of its own d is 1, and the
// limits are Wilson's. Where all rows or none have it V says nothing, and n* is
// G, as if the rows of a cluster always agreed.
//
// Of one cluster the limits are NaN, with the warning one-cluster; clusters of
// several rows that are fewer than 30 give the warning few-clusters. SE is
// √V, NaN where V says nothing. It returns ErrNoData without rows.
//
// Korn EL, Graubard BI. Confidence intervals for proportions with small expected
// number of positive counts estimated from survey data. Surv Methodol
// 1998;24:193-201 (effective size; its limits are Clopper and Pearson's).
func ClusterProportion(had []bool, cluster []int, level float64) (Estimate, error) {
	e, _, err := clusterProportion(had, cluster, confidenceLevel(level))
	return e, err
}

func clusterProportion(had []bool, cluster []int, level float64) (Estimate, *clusterSums, error) {
	values := make([]float64, len(had))
	for i, yes := range had {
		if yes {
			values[i] = 1
		}
	}
	s, err := newClusterSums("proportion", values, cluster)
	if err != nil {
		return Estimate{}, nil, err
	}
	e := Estimate{
		Measure: "proportion", Value: s.mean, Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(), Level: level, P: math.NaN(),
		Method: "Wilson score limits",
	}
	g, n := float64(len(s.sums)), float64(s.n)
	if s.clustered() && g < 2 {
		e.Warnings = []Warning{{"one-cluster", "All rows are of one cluster: the share has no error."}}
		return e, s, nil
	}
	size := g
	if s.clustered() {
		e.Warnings = clusterWarnings(len(s.sums))
	}
	if plain := s.mean * (1 - s.mean) / (n - 1); plain > 0 {
		v := s.variance()
		e.SE = math.Sqrt(v)
		size = n
		if s.clustered() && v > 0 {
			narrower := criticalT(level, n-1) / criticalT(level, g-1)
			size = math.Min(n, n*plain/v*narrower*narrower)
		}
	}
	e.Lower, e.Upper = wilsonShare(s.mean, size, level)
	if s.clustered() {
		e.Method = fmt.Sprintf("Wilson score limits of an effective size of %.4g, %s", size, clusterMethod(true))
	}
	return e, s, nil
}

// wilsonShare is wilsonLimits of a share of any size.
func wilsonShare(p, n, level float64) (lower, upper float64) {
	if p > 0.5 {
		lower, upper = wilsonShare(1-p, n, level)
		return 1 - upper, 1 - lower
	}
	z := criticalZ(level)
	z2 := float64(z * z)
	upper = (p*n + z2/2 + z*math.Sqrt(n*p*(1-p)+z2/4)) / (n + z2)
	return p * p * n / (n + z2) / upper, upper
}

// ClusterRiskDifference is the share of the exposed rows that have something
// less that of the others, p1 − p0, with limits for rows that may depend on each
// other within clusters, which may hold exposed rows and others. With l and u
// the limits of ClusterProportion and φ the correlation of the two shares,
//
//	L = d − √((p1−l1)² + (u0−p0)² − 2φ(p1−l1)(u0−p0))
//	U = d + √((u1−p1)² + (p0−l0)² − 2φ(u1−p1)(p0−l0))
//
// cut at −1 and 1. φ is made of the sums of the deviations by cluster, Σ e1 e0 /
// √(Σ e1² Σ e0²), and 0 where no cluster has rows of both, or one of the shares
// is 0 or 1. Where each row is a cluster of its own the limits are Newcombe's.
// SE is the robust one, NaN where that of a share is. P is NaN: nothing is
// tested.
//
// It returns ErrNoData where one side has no row; where a share has no limits
// there are none.
//
// Zou GY, Donner A. Construction of confidence limits about effect measures: a
// general approach. Stat Med 2008;27:1693-1702. Newcombe RG. Stat Med
// 1998;17:873-890.
func ClusterRiskDifference(had, exposed []bool, cluster []int, level float64) (Estimate, error) {
	if len(had) != len(exposed) || cluster != nil && len(cluster) != len(had) {
		panic(fmt.Sprintf("stats: %d rows, %d exposures and %d cluster numbers", len(had), len(exposed), len(cluster)))
	}
	level = confidenceLevel(level)
	var rows [2][]bool
	var of [2][]int
	for i, yes := range had {
		side := 0
		if exposed[i] {
			side = 1
		}
		c := i
		if cluster != nil {
			c = cluster[i]
		}
		rows[side], of[side] = append(rows[side], yes), append(of[side], c)
	}
	one, s1, err := clusterProportion(rows[1], of[1], level)
	if err != nil {
		return Estimate{}, fmt.Errorf("risk difference: of the exposed: %w", err)
	}
	zero, s0, err := clusterProportion(rows[0], of[0], level)
	if err != nil {
		return Estimate{}, fmt.Errorf("risk difference: of the others: %w", err)
	}
	phi := s1.correlation(s0)
	reach := func(a, b float64) float64 { return math.Sqrt(math.Max(0, a*a+b*b-2*phi*a*b)) }
	d := one.Value - zero.Value
	e := Estimate{
		Measure: "risk difference", Value: d, Level: level, P: math.NaN(),
		SE:    reach(one.SE, zero.SE),
		Lower: math.Max(-1, d-reach(one.Value-one.Lower, zero.Upper-zero.Value)),
		Upper: math.Min(1, d+reach(one.Upper-one.Value, zero.Value-zero.Lower)), Method: "Newcombe hybrid score limits",
	}
	if s1.clustered() || s0.clustered() || phi != 0 {
		e.Method = "hybrid score limits of the effective sizes, " + clusterMethod(true)
	}
	for _, w := range append(one.Warnings, zero.Warnings...) {
		if len(e.Warnings) == 0 || e.Warnings[0].Code != w.Code {
			e.Warnings = append(e.Warnings, w)
		}
	}
	return e, nil
}

// correlation is that of two means whose clusters may be the same.
func (s *clusterSums) correlation(other *clusterSums) float64 {
	both, own, others := 0.0, 0.0, 0.0
	for i := range s.sums {
		own += float64(s.sums[i] * s.sums[i])
	}
	for _, e := range other.sums {
		others += float64(e * e)
	}
	shared := make([]float64, len(s.sums)) // in their order: sums do not depend on that of a map
	for c, i := range s.place {
		if j, also := other.place[c]; also {
			shared[i] = float64(s.sums[i] * other.sums[j])
		}
	}
	for _, x := range shared {
		both += x
	}
	if s.variance() == 0 || other.variance() == 0 {
		return 0
	}
	return both / math.Sqrt(own*others)
}
