package stats

import "math"

// binomialMidPLimits solves
//
//	P(X > k | p) + P(X = k | p)/2 = (1-level)/2
//
// for the lower limit of a probability and the same with < for the upper one,
// each with its complement. Both lie within the limits of Clopper and Pearson.
// The lower limit of no successes is 0, the upper one of no failures 1.
//
// Reference: Berry G, Armitage P. Mid-P confidence intervals: a brief review.
// Statistician 1995;44:417-423.
func binomialMidPLimits(k, n int, level float64) (lower, lowerRest, upper, upperRest float64) {
	lower, lowerRest = binomialMidPLower(k, n, level)
	upperRest, upper = binomialMidPLower(n-k, n, level) // of the failures
	return lower, lowerRest, upper, upperRest
}

// binomialMidPLower solves for the lower limit as odds, so that it and its
// complement keep their digits at either end.
func binomialMidPLower(k, n int, level float64) (lower, rest float64) {
	switch k {
	case 0:
		return 0, 1
	case n: // pⁿ/2 = (1-level)/2
		log := math.Log1p(-level) / float64(n)
		return math.Exp(log), -math.Expm1(log)
	}
	tail := (1 - level) / 2
	excess := func(odds float64) float64 {
		p, q := odds/(1+odds), 1/(1+odds)
		return binomialAtLeast(k+1, n, p, q) + binomialAt(k, n, p, q)/2 - tail
	}
	exact, exactRest, _, _ := binomialLimits(k, n, level)
	high := float64(k) / (float64(n-k) + 0.5)
	for excess(high) < 0 {
		high *= 2
	}
	odds := bisect(excess, exact/exactRest, high)
	return odds / (1 + odds), 1 / (1 + odds)
}

// binomialAt returns P(X = k) for n trials of success probability p, with
// rest = 1−p.
func binomialAt(k, n int, p, rest float64) float64 {
	if k < 0 || k > n {
		return 0
	}
	all, _ := math.Lgamma(float64(n) + 1)
	in, _ := math.Lgamma(float64(k) + 1)
	out, _ := math.Lgamma(float64(n-k) + 1)
	log := all - in - out
	if k > 0 {
		log += float64(k) * math.Log(p)
	}
	if k < n {
		log += float64(n-k) * math.Log(rest)
	}
	return math.Exp(log)
}

// agrestiCoullLimits are Wald's limits after adding z²/2 successes and as many
// failures, cut at 0 and 1.
func agrestiCoullLimits(k, n int, level float64) (lower, upper float64) {
	z := criticalZ(level)
	trials := float64(n) + z*z
	p := (float64(k) + z*z/2) / trials
	half := z * math.Sqrt(p*(1-p)/trials)
	return math.Max(0, p-half), math.Min(1, p+half)
}

// jeffreysLimits are quantiles of the beta distribution with parameters k+1/2
// and n−k+1/2; the lower limit of no successes is 0, the upper one of no
// failures 1.
func jeffreysLimits(k, n int, level float64) (lower, upper float64) {
	tail := (1 - level) / 2
	a, b := float64(k)+0.5, float64(n-k)+0.5
	lower, upper = 0, 1
	if k > 0 {
		lower, _ = betaQuantile(a, b, tail)
	}
	if k < n {
		_, upper = betaQuantile(b, a, tail)
	}
	return lower, upper
}
