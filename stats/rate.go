package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
)

// RateOptions are the choices of Rate; the zero value is a level of 0.95 and a
// rate per one unit of person-time.
type RateOptions struct {
	Level float64 // confidence level; 0 means 0.95
	Per   float64 // person-time the rate is expressed per; 0 means 1
}

// Rate is the incidence rate events/personTime with exact Poisson limits: the
// limits L and U of the count solve P(X >= events | L) = P(X <= events | U) =
// (1-Level)/2, which are gamma quantiles. With no events the lower limit is 0
// and the upper one finite. The events are assumed to follow a Poisson
// distribution, so repeated events of one child are not allowed for.
//
// It returns ErrNoPersonTime when personTime is not positive and finite.
//
// Garwood F. Fiducial limits for the Poisson distribution. Biometrika
// 1936;28:437-442.
func Rate(events int, personTime float64, opts RateOptions) (Estimate, error) {
	if events < 0 {
		panic("stats: negative number of events")
	}
	if opts.Level == 0 {
		opts.Level = 0.95
	}
	if opts.Per == 0 {
		opts.Per = 1
	}
	if !(opts.Level > 0 && opts.Level < 1) {
		panic("stats: level outside (0, 1)")
	}
	if !(opts.Per > 0) || math.IsInf(opts.Per, 1) {
		panic("stats: Per is not positive and finite")
	}
	if !(personTime > 0) || math.IsInf(personTime, 1) {
		return Estimate{}, fmt.Errorf("incidence rate of %d events in person-time %g: %w", events, personTime, ErrNoPersonTime)
	}
	lower, upper := poissonLimits(events, opts.Level)
	scale := opts.Per / personTime
	return Estimate{
		Measure: "incidence rate",
		Value:   float64(events) * scale,
		Lower:   lower * scale,
		Upper:   upper * scale,
		SE:      math.NaN(),
		Level:   opts.Level,
		P:       math.NaN(),
		Method:  "exact Poisson limits (Garwood)",
	}, nil
}

// poissonLimits returns Garwood's limits of a Poisson mean.
func poissonLimits(events int, level float64) (lower, upper float64) {
	tail := (1 - level) / 2
	if events > 0 {
		lower = mathext.GammaIncRegInv(float64(events), tail)
	}
	return lower, mathext.GammaIncRegCompInv(float64(events)+1, tail)
}
