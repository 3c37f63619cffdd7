package stats

import (
	"fmt"
	"math"
)

// OddsRatioExact is the conditional maximum likelihood estimate of the odds
// ratio, with exact limits, from the distribution of the count a given all margins
// (the counts are laid out as for OddsRatio):
// the estimate ψ solves E(a' | ψ) = a, the limits solve P(a' >= a | lower) =
// P(a' <= a | upper) = (1−Level)/2. It differs a little from ad/(bc).
//
// The p-value is twice the smaller tail at ψ = 1, at most 1; it is below
// 1−Level exactly when the limits exclude 1. (Fisher gives the two-sided test
// by the probability method, which may differ.)
//
// When a is as small as the margins allow, the estimate and the lower limit
// are 0; when it is as large, the estimate and the upper limit are +Inf. It
// returns ErrNoData when a group is empty, and ErrNoVariance when everybody or
// nobody has the outcome, where a says nothing about ψ.
//
// References: Cornfield J. A statistical problem arising from retrospective
// studies. Proc 3rd Berkeley Symp 1956;4:135-148. Gart JJ. The comparison of
// proportions. Rev Int Stat Inst 1971;39:148-169.
func OddsRatioExact(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	level := confidenceLevel(opts.Level)
	const measure = "odds ratio"
	if err := (twoByTwo{a, b, c, d}).check(measure); err != nil {
		return Estimate{}, err
	}
	if a+c == 0 || b+d == 0 {
		return Estimate{}, fmt.Errorf("%s of the table %d %d / %d %d: %w in the outcome", measure, a, b, c, d, ErrNoVariance)
	}
	e := Estimate{
		Measure: measure,
		Lower:   0,
		Upper:   math.Inf(1),
		SE:      math.NaN(),
		Level:   level,
		Method:  "conditional maximum likelihood, exact conditional limits, p twice the smaller tail",
	}
	h := newHypergeometric(a+b, c+d, a+c)
	_, atMost, atLeast := h.moments(0, a)
	e.P = math.Min(1, 2*math.Min(atMost, atLeast))
	logTail := math.Log((1 - level) / 2)
	start := math.Log((float64(a) + 0.5) / (float64(b) + 0.5) * (float64(d) + 0.5) / (float64(c) + 0.5))
	smallest, largest := a == h.low, a == h.high()
	if !smallest {
		e.Lower = math.Exp(increasingRoot(start, func(theta float64) float64 {
			_, _, tail := h.moments(theta, a)
			return math.Log(tail) - logTail
		}))
	}
	if !largest {
		e.Upper = math.Exp(increasingRoot(start, func(theta float64) float64 {
			_, tail, _ := h.moments(theta, a)
			return logTail - math.Log(tail)
		}))
	}
	switch {
	case smallest:
		e.Value = 0
	case largest:
		e.Value = math.Inf(1)
	default:
		e.Value = math.Exp(increasingRoot(start, func(theta float64) float64 {
			mean, _, _ := h.moments(theta, a)
			return mean - float64(a)
		}))
	}
	return e, nil
}
