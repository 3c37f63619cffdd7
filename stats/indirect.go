package stats

import (
	"fmt"
	"math"
)

// IndirectStandardisation compares the events of a group with those expected
// if the reference rates had held in each of its strata:
//
//	observed / expected,  expected = Σ referenceRate[i] personTime[i]
//
// the standardised incidence ratio. Reference rates are events per unit of
// person-time and are taken as known, without error; observed is a Poisson
// count, whose limits (opts.Method) are divided by expected. P is twice the
// smaller Poisson tail of observed at the expected count, at most 1. Per does
// not apply. Ratios of groups that differ in their strata are not comparable
// with one another; directly standardised rates are.
//
// It returns ErrNoPersonTime where nothing is expected and ErrNoData without
// strata. Negative or infinite rates and person-times are the caller's mistake.
//
// Reference: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// II. IARC, 1987, p. 65-72.
func IndirectStandardisation(observed int, personTime, referenceRate []float64, opts RateOptions) (Estimate, error) {
	const measure = "standardised incidence ratio"
	level := confidenceLevel(opts.Level)
	if len(personTime) != len(referenceRate) {
		panic(fmt.Sprintf("stats: %d person-times and %d reference rates", len(personTime), len(referenceRate)))
	}
	if observed < 0 {
		panic(fmt.Sprintf("stats: %d events, expected a count of 0 or more", observed))
	}
	if len(personTime) == 0 {
		return Estimate{}, fmt.Errorf("%s: %w", measure, ErrNoData)
	}
	var sum Sum
	for i, t := range personTime {
		if !(t >= 0) || !(referenceRate[i] >= 0) || math.IsInf(t, 1) || math.IsInf(referenceRate[i], 1) {
			panic(fmt.Sprintf("stats: stratum %d has person-time %v and reference rate %v, expected finite numbers of 0 or more", i, t, referenceRate[i]))
		}
		sum.Add(t * referenceRate[i])
	}
	expected := sum.Total()
	if expected == 0 {
		return Estimate{}, fmt.Errorf("%s: nothing is expected in any stratum: %w", measure, ErrNoPersonTime)
	}
	lower, upper := opts.Method.limits(observed, level)
	return Estimate{
		Measure: measure,
		Value:   float64(observed) / expected,
		Lower:   lower / expected,
		Upper:   upper / expected,
		SE:      math.NaN(),
		Level:   level,
		P:       math.Min(1, 2*math.Min(poissonAtMost(observed, expected), poissonAtLeast(observed, expected))),
		Method:  opts.Method.String() + ", p twice the smaller tail",
	}, nil
}
