package stats

import (
	"fmt"
	"math"
)

// StandardisedRateRatio is the directly standardised rate of a group over that
// of the reference (see DirectStandardisation), both with the weights of one
// standard:
//
//	Σ w a/T1 / Σ w b/T0
//
// with a and b the events of group and reference in a stratum and T1 and T0
// their person-times. Limits are symmetric on the log scale with variance
// v1/y1² + v0/y0², where y are the standardised rates and v their variances,
// and P is that of the log ratio over its standard error. Where the ratio
// differs between the strata it is their average over the standard. A stratum
// without weight does not count, whatever it holds. Few events make the normal
// approximation poor: a warning says so where either group has fewer than five
// in strata with weight.
//
// It returns ErrNoPersonTime for a stratum that has weight and no person-time
// in either group, ErrNoEvents where neither group has an event in strata with
// weight and ErrZeroCell where one of them has none, and ErrNoData when no
// stratum has weight. Negative counts, person-times and weights are the
// caller's mistake.
//
// References: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// II. IARC, 1987, p. 58-64. Rothman KJ. Modern Epidemiology. Little, Brown,
// 1986, ch. 12.
func StandardisedRateRatio(strata []RateStratum, weights []float64, opts LimitOptions) (Estimate, error) {
	const measure = "standardised rate ratio"
	level := confidenceLevel(opts.Level)
	var rates, variances [2]float64
	var counts [2]int
	for g := range rates {
		events, times := make([]int, len(strata)), make([]float64, len(strata))
		for i, s := range strata {
			events[i], times[i] = s.Events1, s.PersonTime1
			if g == 1 {
				events[i], times[i] = s.Events0, s.PersonTime0
			}
		}
		w, k, err := standardWeights(measure+", "+[]string{"first group", "reference group"}[g], events, times, weights)
		if err != nil {
			return Estimate{}, err
		}
		var rate, variance Sum
		for i, x := range w {
			rate.Add(x * k[i])
			variance.Add(x * x * k[i])
			counts[g] += int(k[i])
		}
		rates[g], variances[g] = rate.Total(), variance.Total()
	}
	switch {
	case counts[0]+counts[1] == 0:
		return Estimate{}, fmt.Errorf("%s: %w in either group", measure, ErrNoEvents)
	case counts[0] == 0 || counts[1] == 0:
		return Estimate{}, fmt.Errorf("%s of %d and %d events: %w, expected events in both groups", measure, counts[0], counts[1], ErrZeroCell)
	}
	se := math.Hypot(math.Sqrt(variances[0])/rates[0], math.Sqrt(variances[1])/rates[1])
	e := logRatio(measure, "limits on the log scale", rates[0]/rates[1], se, level)
	if small := min(counts[0], counts[1]); small < 5 {
		e.Warnings = append(e.Warnings, Warning{
			Code: "few-events",
			Text: fmt.Sprintf("Limits by the normal approximation are doubtful: a group has %d events, fewer than 5.", small),
		})
	}
	return e, nil
}
