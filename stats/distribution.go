package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// normalQuantile returns the standard normal quantile of p.
func normalQuantile(p float64) float64 { return distuv.UnitNormal.Quantile(p) }

// twoSidedNormalP returns P(|Z| >= |z|) for a standard normal Z. It is made of
// the lower tail, which stays relatively accurate far out, unlike 1 less the
// distribution function.
func twoSidedNormalP(z float64) float64 {
	return math.Erfc(math.Abs(z) / math.Sqrt2)
}

// chiSquaredTail returns the upper tail P(X >= x) of the chi-squared
// distribution: the complement of the regularised incomplete gamma function.
func chiSquaredTail(x, df float64) float64 {
	switch {
	case math.IsNaN(x) || !(df > 0):
		return math.NaN()
	case x <= 0:
		return 1
	case math.IsInf(x, 1):
		return 0
	}
	return mathext.GammaIncRegComp(df/2, x/2)
}

// poissonLimits returns Garwood's limits of a Poisson mean: gamma quantiles
// with shape events (lower) and events+1 (upper). The lower limit of no events
// is 0.
func poissonLimits(events int, level float64) (lower, upper float64) {
	tail := (1 - level) / 2
	if events > 0 {
		lower = mathext.GammaIncRegInv(float64(events), tail)
	}
	return lower, mathext.GammaIncRegCompInv(float64(events)+1, tail)
}

// poissonAtMost returns P(X <= k) for a Poisson count with the given mean.
func poissonAtMost(k int, mean float64) float64 {
	return mathext.GammaIncRegComp(float64(k)+1, mean)
}

// poissonAtLeast returns P(X >= k) for a Poisson count with the given mean.
func poissonAtLeast(k int, mean float64) float64 {
	if k <= 0 {
		return 1
	}
	return mathext.GammaIncReg(float64(k), mean)
}

// binomialLimits returns the limits of Clopper and Pearson for a probability,
// beta quantiles, each with its complement to full relative accuracy.
func binomialLimits(k, n int, level float64) (lower, lowerRest, upper, upperRest float64) {
	tail := (1 - level) / 2
	lower, lowerRest = 0, 1
	if k > 0 {
		lower, lowerRest = betaQuantile(float64(k), float64(n-k)+1, tail)
	}
	upper, upperRest = 1, 0
	if k < n {
		// The upper limit is the complement of the lower one for the failures.
		upperRest, upper = betaQuantile(float64(n-k), float64(k)+1, tail)
	}
	return lower, lowerRest, upper, upperRest
}

// binomialOddsLimits returns the limits of Clopper and Pearson as odds; the
// upper one is +Inf when all n are successes.
func binomialOddsLimits(k, n int, level float64) (lower, upper float64) {
	l, lr, u, ur := binomialLimits(k, n, level)
	return l / lr, u / ur
}

// betaQuantile returns the quantile x of the beta distribution at p and 1−x.
// The smaller of the two is solved for, so that neither loses digits.
func betaQuantile(a, b, p float64) (x, rest float64) {
	x = mathext.InvRegIncBeta(a, b, p)
	if x <= 0.5 {
		return x, 1 - x
	}
	rest = mathext.InvRegIncBeta(b, a, 1-p)
	return 1 - rest, rest
}

// binomialAtMost returns P(X <= k) for n trials of success probability p, with
// rest = 1−p.
func binomialAtMost(k, n int, p, rest float64) float64 {
	if k >= n {
		return 1
	}
	return regIncBeta(float64(n-k), float64(k)+1, rest, p)
}

// binomialAtLeast returns P(X >= k) for n trials of success probability p, with
// rest = 1−p.
func binomialAtLeast(k, n int, p, rest float64) float64 {
	if k <= 0 {
		return 1
	}
	return regIncBeta(float64(k), float64(n-k)+1, p, rest)
}

// regIncBeta is the regularised incomplete beta function at x, with
// rest = 1−x. Above the mean of the distribution it is made of the other tail,
// so that either tail keeps its relative accuracy where it is small.
func regIncBeta(a, b, x, rest float64) float64 {
	if x*b <= rest*a {
		return mathext.RegIncBeta(a, b, x)
	}
	return 1 - mathext.RegIncBeta(b, a, rest)
}
