package stats

import (
	"fmt"
	"math"
)

// A RateDifferenceMethod is a way to make the limits of a difference of two
// rates.
type RateDifferenceMethod int

const (
	// DifferenceNormal is the normal approximation with the observed
	// variances; it is the default.
	DifferenceNormal RateDifferenceMethod = iota
	// DifferenceScore inverts the score test, whose variance is that under the
	// difference in question: better with few events.
	DifferenceScore
)

// RateDifferenceOptions are the choices of RateDifference; the zero value is a
// level of 0.95, rates per one unit of person-time and normal limits.
type RateDifferenceOptions struct {
	Level  float64 // confidence level; 0 means 0.95
	Per    float64 // person-time the rates are expressed per; 0 means 1
	Method RateDifferenceMethod
}

// RateDifference is the rate of a group (events1 in personTime1) less that of
// the reference (events0 in personTime0), by default with limits by the normal
// approximation to two independent Poisson counts:
//
//	d ± z sqrt(events1/personTime1² + events0/personTime0²)
//
// and the p-value of d over that standard error. The approximation is poor for
// few events: a warning says so when either count is below five. Score limits
// are the differences δ at which
//
//	(d − δ) / sqrt(r1/personTime1 + r0/personTime0) = ±z
//
// with r1 and r0 the rates of greatest likelihood that differ by δ; their P is
// that of the statistic at δ = 0, and SE is NaN.
//
// It returns ErrNoPersonTime for person-time that is not positive and finite,
// and ErrNoEvents when neither group has an event.
//
// References: Rothman KJ. Modern Epidemiology. Little, Brown, 1986, ch. 11.
// Miettinen O, Nurminen M. Comparative analysis of two rates. Stat Med
// 1985;4:213-226 (score).
func RateDifference(events1 int, personTime1 float64, events0 int, personTime0 float64, opts RateDifferenceOptions) (Estimate, error) {
	level, per := confidenceLevel(opts.Level), ratePer(opts.Per)
	const measure = "rate difference"
	if err := checkTwoRates(measure, events1, personTime1, events0, personTime0); err != nil {
		return Estimate{}, err
	}
	a, b := float64(events1), float64(events0)
	d := a/personTime1 - b/personTime0
	z := criticalZ(level)
	switch opts.Method {
	case DifferenceNormal:
		se := math.Hypot(math.Sqrt(a)/personTime1, math.Sqrt(b)/personTime0)
		e := Estimate{
			Measure: measure, Value: d * per, Lower: (d - z*se) * per, Upper: (d + z*se) * per, SE: se * per,
			Level: level, P: twoSidedNormalP(d / se), Method: "normal approximation to the Poisson counts",
		}
		if small := min(events1, events0); small < 5 {
			e.Warnings = append(e.Warnings, Warning{
				Code: "few-events",
				Text: fmt.Sprintf("Limits by the normal approximation are doubtful: a group has %d events, fewer than 5.", small),
			})
		}
		return e, nil
	case DifferenceScore:
		score := func(delta float64) float64 {
			r1, r0 := ratesApart(a, personTime1, b, personTime0, delta)
			return (d - delta) / math.Sqrt(r1/personTime1+r0/personTime0)
		}
		// The score falls from +∞ to −∞; steps away from d bracket the limits.
		step := (math.Sqrt(a) + z + 1) / math.Min(personTime1, personTime0)
		low, high := d-step, d+step
		for score(low) < z {
			low -= step
		}
		for score(high) > -z {
			high += step
		}
		return Estimate{
			Measure: measure, Value: d * per, SE: math.NaN(), Level: level,
			Lower: bisect(func(x float64) float64 { return score(x) - z }, low, d) * per,
			Upper: bisect(func(x float64) float64 { return score(x) + z }, d, high) * per,
			P:     twoSidedNormalP(score(0)), Method: "score limits (Miettinen-Nurminen)",
		}, nil
	}
	panic(fmt.Sprintf("stats: unknown RateDifferenceMethod %d", opts.Method))
}

// ratesApart returns the rates of greatest likelihood with r1 − r0 = delta.
// The likelihood equation a/r1 + b/r0 = T is a quadratic in either rate, of
// which the form without cancellation is solved for the one that is larger.
func ratesApart(a, time1, b, time0, delta float64) (r1, r0 float64) {
	if delta < 0 {
		r0, r1 = ratesApart(b, time0, a, time1, -delta)
		return r1, r0
	}
	t := time1 + time0
	half := a + b - t*delta
	root := math.Sqrt(half*half + 4*t*b*delta)
	if half >= 0 {
		r0 = (half + root) / (2 * t)
	} else {
		r0 = 2 * b * delta / (root - half)
	}
	return r0 + delta, r0
}

// checkTwoRates refuses what bears no comparison of two rates.
func checkTwoRates(measure string, events1 int, personTime1 float64, events0 int, personTime0 float64) error {
	if err := checkRate(measure+", first group", events1, personTime1); err != nil {
		return err
	}
	if err := checkRate(measure+", reference group", events0, personTime0); err != nil {
		return err
	}
	if events1 == 0 && events0 == 0 {
		return fmt.Errorf("%s: %w in either group", measure, ErrNoEvents)
	}
	return nil
}
