package stats

import (
	"math"
	"slices"
)

// A Summary describes the distribution of a variable.
type Summary struct {
	N                            int
	Mean, SD                     float64
	Min, Max                     float64
	LowerQuartile, UpperQuartile float64
	Median                       float64
}

// Describe summarises values. The standard deviation has the divisor n−1 and
// is NaN for fewer than two values; the quartiles and the median are Quantile
// at 1/4, 1/2 and 3/4. Mean and deviation are made in two passes with
// compensated sums, so that a large mean costs no digits.
//
// Missing values must be left out before: a NaN among the values makes every
// field but N NaN. Without values N is 0 and the rest NaN.
//
// Reference: Chan TF, Golub GH, LeVeque RJ. Algorithms for computing the
// sample variance. Am Stat 1983;37:242-247.
func Describe(values []float64) Summary {
	nan := math.NaN()
	s := Summary{N: len(values), Mean: nan, SD: nan, Min: nan, Max: nan, LowerQuartile: nan, UpperQuartile: nan, Median: nan}
	if len(values) == 0 || slices.ContainsFunc(values, math.IsNaN) {
		return s
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	s.Mean, s.SD = meanSD(sorted)
	s.Min, s.Max = sorted[0], sorted[len(sorted)-1]
	s.LowerQuartile = sortedQuantile(sorted, 0.25)
	s.Median = sortedQuantile(sorted, 0.5)
	s.UpperQuartile = sortedQuantile(sorted, 0.75)
	return s
}

// meanSD returns the mean and the standard deviation with divisor n−1. The
// order of the values matters in the last digit only; Describe sorts them, so
// that it does not matter at all.
func meanSD(values []float64) (mean, sd float64) {
	n := float64(len(values))
	mean = compensatedSum(len(values), func(i int) float64 { return values[i] }) / n
	// One correction of the mean by the mean of the deviations.
	mean += compensatedSum(len(values), func(i int) float64 { return values[i] - mean }) / n
	if len(values) < 2 {
		return mean, math.NaN()
	}
	squares := compensatedSum(len(values), func(i int) float64 {
		d := values[i] - mean
		return float64(d * d)
	})
	residue := compensatedSum(len(values), func(i int) float64 { return values[i] - mean })
	variance := (squares - residue*residue/n) / (n - 1)
	return mean, math.Sqrt(math.Max(0, variance))
}

// compensatedSum adds n terms.
func compensatedSum(n int, term func(int) float64) float64 {
	var sum Sum
	for i := range n {
		sum.Add(term(i))
	}
	return sum.Total()
}

// Quantile returns the quantile of values at probability p in [0, 1] by linear
// interpolation between order statistics: with h = (n−1)p it lies h−⌊h⌋ of the
// way from the ⌊h⌋-th to the next value, counted from 0. This is definition 7
// of Hyndman and Fan, the default of R and NumPy. It is NaN without values or
// with a NaN among them.
//
// Reference: Hyndman RJ, Fan Y. Sample quantiles in statistical packages. Am
// Stat 1996;50:361-365.
func Quantile(values []float64, p float64) float64 {
	if !(p >= 0 && p <= 1) {
		panic("stats: probability of a quantile outside 0 to 1")
	}
	if len(values) == 0 || slices.ContainsFunc(values, math.IsNaN) {
		return math.NaN()
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	return sortedQuantile(sorted, p)
}

func sortedQuantile(sorted []float64, p float64) float64 {
	h := float64(len(sorted)-1) * p
	low := math.Floor(h)
	i := int(low)
	if h == low {
		return sorted[i]
	}
	if sorted[i] == sorted[i+1] {
		return sorted[i]
	}
	return sorted[i] + float64((h-low)*(sorted[i+1]-sorted[i]))
}
