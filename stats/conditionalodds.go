package stats

import (
	"fmt"
	"math"
)

// oddsRatio is the odds ratio exp(theta) of the distribution when the value at
// was observed: the estimate at which the mean is that value, the limits at
// which a tail is (1-level)/2, and twice the smaller tail at theta 0. With midP
// half the probability of the value observed counts to either tail. Estimate and
// lower limit are 0 at the smallest possible value, estimate and upper limit +Inf
// at the largest.
func (h *hypergeometric) oddsRatio(at int, level float64, midP bool) Estimate {
	e := Estimate{
		Lower: 0, Upper: math.Inf(1), SE: math.NaN(), Level: level,
		Method: "conditional maximum likelihood, exact conditional limits, p twice the smaller tail",
	}
	tails := func(theta float64) (atMost, atLeast float64) {
		_, atMost, atLeast = h.moments(theta, at)
		return atMost, atLeast
	}
	if midP {
		e.Method = "conditional maximum likelihood, mid-P conditional limits, p twice the smaller mid-P tail"
		tails = func(theta float64) (atMost, atLeast float64) {
			_, below, _ := h.moments(theta, at-1)
			_, _, above := h.moments(theta, at+1)
			_, atMost, atLeast = h.moments(theta, at)
			return (atMost + below) / 2, (atLeast + above) / 2
		}
	}
	atMost, atLeast := tails(0)
	e.P = math.Min(1, 2*math.Min(atMost, atLeast))
	logTail := math.Log((1 - level) / 2)
	smallest, largest := at == h.low, at == h.high()
	if !smallest {
		e.Lower = math.Exp(increasingRoot(0, func(theta float64) float64 {
			_, tail := tails(theta)
			return math.Log(tail) - logTail
		}))
	}
	if !largest {
		e.Upper = math.Exp(increasingRoot(0, func(theta float64) float64 {
			tail, _ := tails(theta)
			return logTail - math.Log(tail)
		}))
	}
	switch {
	case smallest:
		e.Value = 0
	case largest:
		e.Value = math.Inf(1)
	default:
		e.Value = math.Exp(increasingRoot(0, func(theta float64) float64 {
			mean, _, _ := h.moments(theta, at)
			return mean - float64(at)
		}))
	}
	return e
}

// OddsRatioMidP is OddsRatioExact with limits and p-value by the mid-P method,
// which counts half the probability of the observed count to either tail:
//
//	P(a' > a | lower) + P(a' = a | lower)/2 = (1−Level)/2
//
// and likewise for the upper limit. They lie within the exact ones; their
// coverage is near the level, not never below it. The p-value is twice the
// smaller mid-P tail at odds ratio 1, at most 1; it is below 1−Level exactly
// when the limits exclude 1. Estimate, special cases and refusals are those of
// OddsRatioExact.
//
// Reference: Berry G, Armitage P. Mid-P confidence intervals: a brief review.
// Statistician 1995;44:417-423.
func OddsRatioMidP(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	level := confidenceLevel(opts.Level)
	const measure = "odds ratio"
	if err := (twoByTwo{a, b, c, d}).check(measure); err != nil {
		return Estimate{}, err
	}
	if a+c == 0 || b+d == 0 {
		return Estimate{}, fmt.Errorf("%s of the table %d %d / %d %d: %w in the outcome", measure, a, b, c, d, ErrNoVariance)
	}
	e := newHypergeometric(a+b, c+d, a+c).oddsRatio(a, level, true)
	e.Measure = measure
	return e, nil
}
