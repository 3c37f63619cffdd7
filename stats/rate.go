package stats

import (
	"fmt"
	"math"
)

// RateOptions are the choices of Rate and the methods that rest on it; the
// zero value is a level of 0.95, a rate per one unit of person-time and exact
// limits.
type RateOptions struct {
	Level  float64    // confidence level; 0 means 0.95
	Per    float64    // person-time the rate is expressed per; 0 means 1
	Method RateMethod // of the limits
}

// Rate is the incidence rate events/personTime. By default its limits are
// exact: the limits L and U of the count solve P(X >= events | L) =
// P(X <= events | U) = (1-Level)/2, which are gamma quantiles. With no events
// the lower limit is 0 and the upper one finite, by every method. The events
// are assumed to follow a Poisson distribution, so repeated events of one child
// are not allowed for.
//
// It returns ErrNoPersonTime when personTime is not positive and finite.
//
// Reference: Garwood F. Fiducial limits for the Poisson distribution.
// Biometrika 1936;28:437-442.
func Rate(events int, personTime float64, opts RateOptions) (Estimate, error) {
	level, per := confidenceLevel(opts.Level), ratePer(opts.Per)
	if err := checkRate("incidence rate", events, personTime); err != nil {
		return Estimate{}, err
	}
	lower, upper := opts.Method.limits(events, level)
	scale := per / personTime
	return Estimate{
		Measure: "incidence rate",
		Value:   float64(events) * scale,
		Lower:   lower * scale,
		Upper:   upper * scale,
		SE:      math.NaN(),
		Level:   level,
		P:       math.NaN(),
		Method:  opts.Method.String(),
	}, nil
}

// ratePer resolves RateOptions.Per.
func ratePer(per float64) float64 {
	if per == 0 {
		return 1
	}
	if !(per > 0) || math.IsInf(per, 1) {
		panic(fmt.Sprintf("stats: Per is %v, expected a positive finite person-time", per))
	}
	return per
}

// checkRate refuses person-time that bears no rate; a negative count is the
// caller's mistake.
func checkRate(measure string, events int, personTime float64) error {
	if events < 0 {
		panic(fmt.Sprintf("stats: %d events, expected a count of 0 or more", events))
	}
	if !(personTime > 0) || math.IsInf(personTime, 1) {
		return fmt.Errorf("%s of %d events in person-time %g: %w", measure, events, personTime, ErrNoPersonTime)
	}
	return nil
}
