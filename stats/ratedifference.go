package stats

import (
	"fmt"
	"math"
)

// RateDifference is the rate of a group (events1 in personTime1) less that of
// the reference (events0 in personTime0), with limits by the normal
// approximation to two independent Poisson counts:
//
//	d ± z sqrt(events1/personTime1² + events0/personTime0²)
//
// and the p-value of d over that standard error. The approximation is poor for
// few events: a warning says so when either count is below five.
//
// It returns ErrNoPersonTime for person-time that is not positive and finite,
// and ErrNoEvents when neither group has an event.
//
// Reference: Rothman KJ. Modern Epidemiology. Little, Brown, 1986, ch. 11.
func RateDifference(events1 int, personTime1 float64, events0 int, personTime0 float64, opts RateOptions) (Estimate, error) {
	level, per := confidenceLevel(opts.Level), ratePer(opts.Per)
	const measure = "rate difference"
	if err := checkTwoRates(measure, events1, personTime1, events0, personTime0); err != nil {
		return Estimate{}, err
	}
	a, b := float64(events1), float64(events0)
	d := (a/personTime1 - b/personTime0) * per
	se := math.Hypot(math.Sqrt(a)/personTime1, math.Sqrt(b)/personTime0) * per
	half := criticalZ(level) * se
	e := Estimate{
		Measure: measure,
		Value:   d,
		Lower:   d - half,
		Upper:   d + half,
		SE:      se,
		Level:   level,
		P:       twoSidedNormalP(d / se),
		Method:  "normal approximation to the Poisson counts",
	}
	if small := min(events1, events0); small < 5 {
		e.Warnings = append(e.Warnings, Warning{
			Code: "few-events",
			Text: fmt.Sprintf("Limits by the normal approximation are doubtful: a group has %d events, fewer than 5.", small),
		})
	}
	return e, nil
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
