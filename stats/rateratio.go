package stats

import (
	"fmt"
	"math"
)

// LimitOptions are the choices of methods that only need a confidence level.
type LimitOptions struct {
	Level float64 // confidence level; 0 means 0.95
}

// A RateRatioMethod is a way to make the limits and the p-value of a ratio of
// two rates.
type RateRatioMethod int

const (
	// RatioExact inverts the exact conditional test; it is the default.
	RatioExact RateRatioMethod = iota
	// RatioMidP counts half the probability of the observed count in either
	// tail of it: shorter, with coverage near the level.
	RatioMidP
	// RatioScore inverts the score test, which is Wilson's for the share of
	// the events that fall in the first group.
	RatioScore
	// RatioLog is symmetric on the log scale with standard error
	// sqrt(1/events1 + 1/events0); both groups must have events.
	RatioLog
)

// RateRatioOptions are the choices of RateRatio; the zero value is a level of
// 0.95 and exact limits.
type RateRatioOptions struct {
	Level  float64 // confidence level; 0 means 0.95
	Method RateRatioMethod
}

// RateRatio is the rate of a group (events1 in personTime1) over that of the
// reference (events0 in personTime0), by default with exact limits. Given the
// total n = events1 + events0, events1 is binomial with probability
//
//	π = ρ T1 / (ρ T1 + T0)
//
// where ρ is the rate ratio and T the person-times, so that limits for π
// (Clopper and Pearson's, mid-P or Wilson's) give those for
// ρ = π/(1−π) · T0/T1.
//
// The p-value is of ρ = 1: twice the smaller tail of that binomial
// distribution, at most 1, where the limits are exact, with half the
// probability of the observed count where they are mid-P; that of the score or
// of the log ratio over its standard error with these. It is below 1−Level
// exactly when the limits exclude 1. The counts are taken to be independent and
// Poisson.
//
// With events in the reference group only, the estimate and its lower limit
// are 0; with events in the first group only, the estimate and its upper limit
// are +Inf: in both the other limit is finite. RatioLog refuses both with
// ErrZeroCell. It returns ErrNoEvents when neither group has an event and
// ErrNoPersonTime when a person-time is not positive and finite.
//
// References: Przyborowski J, Wilenski H. Homogeneity of results in testing
// samples from Poisson series. Biometrika 1940;31:313-323. Clopper CJ, Pearson
// ES. Biometrika 1934;26:404-413. Graham PL, Mengersen K, Morton AP.
// Confidence limits for the ratio of two rates based on likelihood scores. Stat
// Med 2003;22:2071-2083 (score).
func RateRatio(events1 int, personTime1 float64, events0 int, personTime0 float64, opts RateRatioOptions) (Estimate, error) {
	level := confidenceLevel(opts.Level)
	const measure = "rate ratio"
	if err := checkTwoRates(measure, events1, personTime1, events0, personTime0); err != nil {
		return Estimate{}, err
	}
	n := events1 + events0
	a, b := float64(events1), float64(events0)
	scale := personTime0 / personTime1
	value := a / b * scale // +Inf when events0 is 0
	if opts.Method == RatioLog {
		if events1 == 0 || events0 == 0 {
			return Estimate{}, fmt.Errorf("%s of %d and %d events, log limits: %w, expected events in both groups", measure, events1, events0, ErrZeroCell)
		}
		return logRatio(measure, "limits on the log scale", value, math.Sqrt(1/a+1/b), level), nil
	}
	pi := personTime1 / (personTime1 + personTime0)
	rest := personTime0 / (personTime1 + personTime0)
	e := Estimate{Measure: measure, Value: value, SE: math.NaN(), Level: level}
	atMost, atLeast := binomialAtMost(events1, n, pi, rest), binomialAtLeast(events1, n, pi, rest)
	switch opts.Method {
	case RatioExact:
		e.Method = "exact conditional limits (Clopper-Pearson), p twice the smaller tail"
		e.Lower, e.Upper = binomialOddsLimits(events1, n, level)
		e.P = 2 * min(atMost, atLeast)
	case RatioMidP:
		e.Method = "mid-P conditional limits, p twice the smaller mid-P tail"
		l, lr, u, ur := binomialMidPLimits(events1, n, level)
		e.Lower, e.Upper = l/lr, u/ur
		e.P = 2*min(atMost, atLeast) - binomialAt(events1, n, pi, rest)
	case RatioScore:
		e.Method = "score limits"
		// The complement of a limit is a limit of the complement.
		l, u := wilsonLimits(events1, n, level)
		ur, lr := wilsonLimits(events0, n, level)
		e.Lower, e.Upper = l/lr, u/ur
		e.P = twoSidedNormalP((a*rest - b*pi) / math.Sqrt(float64(n)*pi*rest))
	default:
		panic(fmt.Sprintf("stats: unknown RateRatioMethod %d", opts.Method))
	}
	e.Lower, e.Upper, e.P = e.Lower*scale, e.Upper*scale, math.Min(1, e.P)
	return e, nil
}
