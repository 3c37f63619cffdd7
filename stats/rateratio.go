package stats

import "math"

// LimitOptions are the choices of methods that only need a confidence level.
type LimitOptions struct {
	Level float64 // confidence level; 0 means 0.95
}

// RateRatio is the rate of a group (events1 in personTime1) over that of the
// reference (events0 in personTime0), with exact limits. Given the total
// n = events1 + events0, events1 is binomial with probability
//
//	π = ρ T1 / (ρ T1 + T0)
//
// where ρ is the rate ratio and T the person-times, so that the limits of
// Clopper and Pearson for π give those for ρ = π/(1−π) · T0/T1.
//
// The p-value is twice the smaller tail of that binomial distribution at
// ρ = 1, at most 1; it is below 1−Level exactly when the limits exclude 1. The
// counts are taken to be independent and Poisson.
//
// With events in the reference group only, the estimate and its lower limit
// are 0; with events in the first group only, the estimate and its upper limit
// are +Inf: in both the other limit is finite. It returns ErrNoEvents when
// neither group has an event and ErrNoPersonTime when a person-time is not
// positive and finite.
//
// References: Przyborowski J, Wilenski H. Homogeneity of results in testing
// samples from Poisson series. Biometrika 1940;31:313-323. Clopper CJ, Pearson
// ES. Biometrika 1934;26:404-413.
func RateRatio(events1 int, personTime1 float64, events0 int, personTime0 float64, opts LimitOptions) (Estimate, error) {
	level := confidenceLevel(opts.Level)
	const measure = "rate ratio"
	if err := checkTwoRates(measure, events1, personTime1, events0, personTime0); err != nil {
		return Estimate{}, err
	}
	n := events1 + events0
	lower, upper := binomialOddsLimits(events1, n, level)
	scale := personTime0 / personTime1
	pi := personTime1 / (personTime1 + personTime0)
	rest := personTime0 / (personTime1 + personTime0)
	p := 2 * min(binomialAtMost(events1, n, pi, rest), binomialAtLeast(events1, n, pi, rest))
	return Estimate{
		Measure: measure,
		Value:   float64(events1) / float64(events0) * scale, // +Inf when events0 is 0
		Lower:   lower * scale,
		Upper:   upper * scale,
		SE:      math.NaN(),
		Level:   level,
		P:       math.Min(1, p),
		Method:  "exact conditional limits (Clopper-Pearson), p twice the smaller tail",
	}, nil
}
