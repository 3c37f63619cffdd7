package stats

import (
	"fmt"
	"math"
)

// StandardisedMeanDifference is how far the means of two samples are apart in units
// of their standard deviation, (m1 − m2)/√((s1² + s2²)/2): a description of
// balance that does not depend on sample size, as a p-value does. It returns
// ErrTooFewRows below two values in a sample, ErrNotFinite and ErrNoVariance.
//
// Austin PC. Using the standardized difference to compare the prevalence of a
// binary variable between two groups in observational research. Commun Stat
// Simul Comput 2009;38:1228-1234.
func StandardisedMeanDifference(first, second []float64) (float64, error) {
	a, b, err := twoSamples("standardised difference", first, second)
	if err != nil {
		return math.NaN(), err
	}
	return (a.Mean - b.Mean) / math.Sqrt((a.SD*a.SD+b.SD*b.SD)/2), nil
}

// StandardisedShares is the same of a categorical variable, whose counts by
// level are given: with p the shares of all levels but the first and S the mean
// of their multinomial covariances, √((p1−p2)ᵀ S⁻¹ (p1−p2)), which is not
// negative. Of two levels it is |p1−p2|/√((p1 q1 + p2 q2)/2). Levels that occur
// in neither sample are left out. It returns ErrNoData for an empty sample and
// ErrNoVariance where fewer than two levels occur or the covariance is
// singular. Slices of unequal length are the caller's mistake.
//
// Yang D, Dalton JE. A unified approach to measuring the effect size between two
// groups using SAS. SAS Global Forum 2012, paper 335 (from memory).
func StandardisedShares(first, second []int) (float64, error) {
	const name = "standardised difference of shares"
	if len(first) != len(second) {
		panic(fmt.Sprintf("stats: counts of %d and %d levels", len(first), len(second)))
	}
	n1, n2 := 0, 0
	for i := range first {
		n1, n2 = n1+first[i], n2+second[i]
	}
	if n1 == 0 || n2 == 0 {
		return math.NaN(), fmt.Errorf("%s: %w: found %d and %d", name, ErrNoData, n1, n2)
	}
	var p, q []float64
	for i := range first {
		if first[i]+second[i] > 0 {
			p, q = append(p, float64(first[i])/float64(n1)), append(q, float64(second[i])/float64(n2))
		}
	}
	if len(p) < 2 {
		return math.NaN(), fmt.Errorf("%s: %w: one level in both samples", name, ErrNoVariance)
	}
	p, q = p[1:], q[1:]
	k := len(p)
	s, d := newMatrix(k, k), make([]float64, k)
	for i := range k {
		d[i] = p[i] - q[i]
		for j := range k {
			s[i][j] = -(p[i]*p[j] + q[i]*q[j]) / 2
			if i == j {
				s[i][i] += (p[i] + q[i]) / 2
			}
		}
	}
	l, _, ok := cholesky(s, 1e-12)
	if !ok {
		return math.NaN(), fmt.Errorf("%s: %w: each level is in one sample only", name, ErrNoVariance)
	}
	return math.Sqrt(dot(d, choleskySolve(l, d))), nil
}
