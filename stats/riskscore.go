package stats

import (
	"fmt"
	"math"
)

// RiskDifferenceScore is the risk of the exposed less that of the reference
// (the counts are laid out as for OddsRatio) with the score limits of Miettinen
// and Nurminen: the differences δ at which
//
//	(d − δ) / sqrt((p1 (1−p1)/n1 + p0 (1−p0)/n0) N/(N−1)) = ±z
//
// with p1 and p0 the risks of greatest likelihood that differ by δ and N =
// n1+n0. P is that of the statistic at δ = 0; it is below 1−Level exactly when
// the limits exclude 0. They stay within −1 to 1 and have width with zero cells
// too. The persons are taken to be independent.
//
// P is 1 when nobody or everybody has the outcome. It returns ErrNoData when a
// group is empty.
//
// Reference: Miettinen O, Nurminen M. Comparative analysis of two rates. Stat
// Med 1985;4:213-226.
func RiskDifferenceScore(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	n := float64(a + b + c + d)
	return riskDifferenceScore(twoByTwo{a, b, c, d}, opts, n/(n-1))
}

// riskDifferenceScore is RiskDifferenceScore with the variance of the
// difference multiplied by inflate.
func riskDifferenceScore(t twoByTwo, opts LimitOptions, inflate float64) (Estimate, error) {
	a, b, c, d := t.a, t.b, t.c, t.d
	level := confidenceLevel(opts.Level)
	const measure = "risk difference"
	if err := t.check(measure); err != nil {
		return Estimate{}, err
	}
	n1, n0 := float64(a+b), float64(c+d)
	value, z := float64(a)/n1-float64(c)/n0, criticalZ(level)
	score := func(delta float64) float64 {
		if delta == value {
			return 0
		}
		p0 := t.risksApart(delta)
		p1 := math.Min(1, math.Max(0, p0+delta))
		return (value - delta) / math.Sqrt((p1*(1-p1)/n1+p0*(1-p0)/n0)*inflate)
	}
	e := Estimate{
		Measure: measure, Value: value, Lower: -1, Upper: 1, SE: math.NaN(), Level: level,
		P: twoSidedNormalP(score(0)), Method: "score limits (Miettinen-Nurminen)",
	}
	if value > -1 {
		e.Lower = bisect(func(x float64) float64 { return score(x) - z }, -1, value)
	}
	if value < 1 {
		e.Upper = bisect(func(x float64) float64 { return score(x) + z }, value, 1)
	}
	return e, nil
}

// risksApart returns the risk of the reference of greatest likelihood when that
// of the exposed is delta higher: where the slope of the logarithm of the
// likelihood, which falls, crosses 0, or the end nearest to that.
func (t twoByTwo) risksApart(delta float64) float64 {
	lo, hi := math.Max(0, -delta), math.Min(1, 1-delta)
	slope := func(p float64) float64 {
		s := 0.0
		for _, term := range []struct {
			n    int
			over float64
		}{{t.a, p + delta}, {-t.b, 1 - delta - p}, {t.c, p}, {-t.d, 1 - p}} {
			if term.n != 0 {
				s += float64(term.n) / math.Max(0, term.over)
			}
		}
		return s
	}
	switch {
	case !(lo < hi) || slope(lo) <= 0:
		return lo
	case slope(hi) >= 0:
		return hi
	}
	return bisect(slope, lo, hi)
}

// RiskRatioScore is the risk of the exposed over that of the reference (the
// counts are laid out as for OddsRatio) with Koopman's score limits: the ratios
// φ at which
//
//	(p̂1 − φ p̂0) / sqrt(p1 (1−p1)/n1 + φ² p0 (1−p0)/n0) = ±z
//
// with p̂ the observed risks and p1 = φ p0 and p0 the risks of greatest
// likelihood. P is that of the statistic at φ = 1, Pearson's chi-square without
// correction; it is below 1−Level exactly when the limits exclude 1. The
// persons are taken to be independent.
//
// With no outcome among the exposed the estimate and its lower limit are 0,
// with none in the reference the estimate and its upper limit are +Inf: the
// other limit is finite in both. It returns ErrNoEvents when nobody has the
// outcome and ErrNoData when a group is empty. P is 1 when everybody has it.
//
// Reference: Koopman PAR. Confidence intervals for the ratio of two binomial
// proportions. Biometrics 1984;40:513-517.
func RiskRatioScore(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	t := twoByTwo{a, b, c, d}
	level := confidenceLevel(opts.Level)
	const measure = "risk ratio"
	if err := t.check(measure); err != nil {
		return Estimate{}, err
	}
	if a == 0 && c == 0 {
		return Estimate{}, fmt.Errorf("%s: %w in either group", measure, ErrNoEvents)
	}
	n1, n0 := float64(a+b), float64(c+d)
	r1, r0 := float64(a)/n1, float64(c)/n0
	value, z := r1/r0, criticalZ(level) // +Inf without events in the reference
	score := func(ratio float64) float64 {
		surplus := r1 - ratio*r0
		if surplus == 0 {
			return 0
		}
		p1, q1, p0, q0 := t.risksInRatio(ratio)
		return surplus / math.Sqrt(p1*q1/n1+ratio*ratio*p0*q0/n0)
	}
	e := Estimate{
		Measure: measure, Value: value, Lower: 0, Upper: math.Inf(1), SE: math.NaN(), Level: level,
		P: twoSidedNormalP(score(1)), Method: "score limits (Koopman)",
	}
	start := value
	if a > 0 {
		if c == 0 {
			start = n0 / n1 * float64(a)
		}
		low, high := start, start
		for score(low) < z {
			low /= 2
		}
		for c == 0 && score(high) > z {
			high *= 2
		}
		e.Lower = bisect(func(x float64) float64 { return score(x) - z }, low, high)
	}
	if c > 0 {
		low := value
		high := math.Max(value, 1/(n1*r0))
		for score(high) > -z {
			high *= 2
		}
		e.Upper = bisect(func(x float64) float64 { return score(x) + z }, low, high)
	}
	return e, nil
}

// risksInRatio returns the risks of greatest likelihood of the exposed and the
// reference with p1 = ratio·p0, each with its complement. The likelihood
// equation is the quadratic N φ p0² − (φ(a+b+c) + a+c+d) p0 + a + c = 0, of
// which the smaller root is wanted, taken in the form without cancellation.
func (t twoByTwo) risksInRatio(ratio float64) (p1, q1, p0, q0 float64) {
	a, b, c, d := float64(t.a), float64(t.b), float64(t.c), float64(t.d)
	half := ratio*(a+b+c) + a + c + d
	// Its discriminant half² − 4Nφ(a+c) is a sum of what cannot cancel.
	difference := ratio*(a+b+c) - (a + c + d)
	root := math.Sqrt(difference*difference + 4*ratio*b*d)
	p0 = math.Min(1, 2*(a+c)/(half+root))
	p1 = math.Min(1, ratio*p0)
	return p1, 1 - p1, p0, 1 - p0
}
