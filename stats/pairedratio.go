package stats

import (
	"fmt"
	"math"
)

// PairedRatio is the share of pairs with the outcome in the first over that in
// the second, θ = (a+b)/(a+c) with a the pairs with the outcome in both, b and
// c in the first or the second alone. Its score limits are the ratios at which
//
//	(a + b − θ(a+c)) / sqrt(n ((1+θ) q + (θ−1) s)) = ±z,  s = (a+b+c)/n
//
// with q the probability of greatest likelihood, given θ, of the outcome in the
// second alone. P is that of the score at 1, McNemar's chi-square without
// correction; it is below 1−Level exactly when the limits exclude 1. Pairs are
// taken to be independent.
//
// Without an outcome in the first the estimate and the lower limit are 0, with
// none in the second the estimate and the upper limit are +Inf. It returns
// ErrNoEvents when no pair has the outcome and ErrNoData without pairs. P is 1
// when no pair is discordant.
//
// References: Nam J, Blackwelder WC. Analysis of the ratio of marginal
// probabilities in a matched-pair setting. Stat Med 2002;21:689-699. Tang NS,
// Tang ML, Chan ISF. On tests of equivalence via non-unity relative risk for
// matched-pair design. Stat Med 2003;22:1217-1233.
func PairedRatio(p PairTable, opts LimitOptions) (Estimate, error) {
	const measure = "paired risk ratio"
	level := confidenceLevel(opts.Level)
	if _, err := p.check(measure); err != nil {
		return Estimate{}, err
	}
	a, b, c := float64(p.Both), float64(p.First), float64(p.Second)
	if a+b+c == 0 {
		return Estimate{}, fmt.Errorf("%s: %w in any pair", measure, ErrNoEvents)
	}
	z := criticalZ(level)
	score := func(log float64) float64 { return pairedRatioScore(a, b, c, math.Exp(log)) }
	e := Estimate{
		Measure: measure, Value: (a + b) / (a + c), Lower: 0, Upper: math.Inf(1), SE: math.NaN(), Level: level,
		P: twoSidedNormalP(score(0)), Method: "score limits (Nam-Blackwelder)",
	}
	if a+b > 0 {
		e.Lower = math.Exp(increasingRoot(0, func(log float64) float64 { return z - score(log) }))
	}
	if a+c > 0 {
		e.Upper = math.Exp(increasingRoot(0, func(log float64) float64 { return -z - score(log) }))
	}
	return e, nil
}

// pairedRatioScore is the statistic at the ratio theta, which falls with it.
// With y the share of the outcome in the second alone among pairs with an
// outcome, the likelihood a log(1−y(1+θ)) + b log(θ−1+y) + c log y has its
// maximum at a root of (a+b+c)(1+θ) y² + ((a+c)(θ²−1) − b − c) y − c(θ−1).
func pairedRatioScore(a, b, c, theta float64) float64 {
	surplus := a + b - theta*(a+c)
	if surplus == 0 {
		return 0
	}
	if theta < 1 { // by symmetry, so that nothing cancels
		return -pairedRatioScore(a, c, b, 1/theta)
	}
	square, half := (a+b+c)*(1+theta), (a+c)*(theta*theta-1)-b-c
	root := math.Sqrt(half*half + 4*square*c*(theta-1))
	var y float64
	switch {
	case half <= 0:
		y = (root - half) / (2 * square)
	case c > 0:
		y = 2 * c * (theta - 1) / (half + root)
	}
	return surplus / math.Sqrt((a+b+c)*(theta-1)+square*y)
}
