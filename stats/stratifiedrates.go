package stats

import (
	"fmt"
	"math"
)

// A RateStratum holds the events and person-times of two groups in one
// stratum, such as an age band.
type RateStratum struct {
	Events1     int     // of the group
	PersonTime1 float64 // of the group
	Events0     int     // of the reference
	PersonTime0 float64 // of the reference
}

// comparedStrata are the strata in which both groups have person-time. The
// others compare nothing and are left out, with a warning.
//
// It returns ErrNoData when no stratum compares anything. Negative counts and
// person-times that are negative or not finite are the caller's mistake.
func comparedStrata(measure string, strata []RateStratum) (compared []RateStratum, warnings []Warning, err error) {
	left := 0
	for i, s := range strata {
		if s.Events1 < 0 || s.Events0 < 0 || !(s.PersonTime1 >= 0) || !(s.PersonTime0 >= 0) ||
			math.IsInf(s.PersonTime1, 1) || math.IsInf(s.PersonTime0, 1) {
			panic(fmt.Sprintf("stats: stratum %d is %+v, expected finite numbers of 0 or more", i, s))
		}
		if s.PersonTime1 == 0 || s.PersonTime0 == 0 {
			if s.Events1+s.Events0 > 0 || s.PersonTime1+s.PersonTime0 > 0 {
				left++
			}
			continue
		}
		compared = append(compared, s)
	}
	if len(compared) == 0 {
		return nil, nil, fmt.Errorf("%s: no stratum has person-time in both groups: %w", measure, ErrNoData)
	}
	if left > 0 {
		warnings = append(warnings, Warning{
			Code: "one-sided-strata",
			Text: fmt.Sprintf("%d of %d strata have person-time in one group alone and do not enter the comparison.", left, len(strata)),
		})
	}
	return compared, warnings, nil
}

// terms are a stratum's counts as numbers.
func (s RateStratum) terms() (a, t1, b, t0, t float64) {
	return float64(s.Events1), s.PersonTime1, float64(s.Events0), s.PersonTime0, s.PersonTime1 + s.PersonTime0
}

// MantelHaenszelRateRatio is the rate ratio of two groups pooled over strata,
//
//	Σ a T0/T / Σ b T1/T
//
// with a and b the events of group and reference, T1 and T0 their person-times
// and T = T1+T0. Limits are symmetric on the log scale with the variance of
// Greenland and Robins,
//
//	Σ (a+b) T1 T0/T² / (Σ a T0/T · Σ b T1/T)
//
// and P is that of the score statistic (Σ a − Σ (a+b) T1/T)² /
// Σ (a+b) T1 T0/T² with one degree of freedom. One ratio is taken to hold in
// all strata: see RateRatioHomogeneity.
//
// It returns ErrNoEvents where neither group has an event, ErrZeroCell where
// one of them has none, and ErrNoData where no stratum has person-time in both.
//
// References: Greenland S, Robins JM. Estimation of a common effect parameter
// from sparse follow-up data. Biometrics 1985;41:55-68. Shore RE, Pasternack
// BS, Curnen MG. Am J Epidemiol 1976;103:198-207 (score statistic).
func MantelHaenszelRateRatio(strata []RateStratum, opts LimitOptions) (Estimate, error) {
	const measure = "rate ratio"
	level := confidenceLevel(opts.Level)
	compared, warnings, err := comparedStrata(measure, strata)
	if err != nil {
		return Estimate{}, err
	}
	var over, under, variance, surplus Sum
	events1, events0 := 0, 0
	for _, s := range compared {
		a, t1, b, t0, t := s.terms()
		events1 += s.Events1
		events0 += s.Events0
		over.Add(a * t0 / t)
		under.Add(b * t1 / t)
		surplus.Add((a*t0 - b*t1) / t) // a − (a+b) T1/T
		variance.Add((a + b) * (t1 / t) * (t0 / t))
	}
	switch {
	case events1+events0 == 0:
		return Estimate{}, fmt.Errorf("%s: %w in either group", measure, ErrNoEvents)
	case events1 == 0 || events0 == 0:
		return Estimate{}, fmt.Errorf("%s of %d and %d events: %w, expected events in both groups", measure, events1, events0, ErrZeroCell)
	}
	se := math.Sqrt(variance.Total() / over.Total() / under.Total())
	e := logRatio(measure, "Mantel-Haenszel, Greenland-Robins limits, score test", over.Total()/under.Total(), se, level)
	e.P = chiSquaredTail(surplus.Total()*surplus.Total()/variance.Total(), 1)
	e.Warnings = warnings
	return e, nil
}

// MantelHaenszelRateDifference is the rate difference of two groups pooled
// over strata (symbols as for MantelHaenszelRateRatio),
//
//	Σ (a T0 − b T1)/T / Σ T1 T0/T
//
// with normal limits by the variance Σ (a T0² + b T1²)/T² / (Σ T1 T0/T)² and
// the p-value of the difference over its standard error. One difference is
// taken to hold in all strata.
//
// It returns ErrNoEvents where neither group has an event and ErrNoData where
// no stratum has person-time in both.
//
// Reference: Greenland S, Robins JM. Biometrics 1985;41:55-68.
func MantelHaenszelRateDifference(strata []RateStratum, opts RateOptions) (Estimate, error) {
	const measure = "rate difference"
	level, per := confidenceLevel(opts.Level), ratePer(opts.Per)
	compared, warnings, err := comparedStrata(measure, strata)
	if err != nil {
		return Estimate{}, err
	}
	var over, weight, variance Sum
	events := 0
	for _, s := range compared {
		a, t1, b, t0, t := s.terms()
		events += s.Events1 + s.Events0
		over.Add((a*t0 - b*t1) / t)
		weight.Add(t1 / t * t0)
		variance.Add(a*(t0/t)*(t0/t) + b*(t1/t)*(t1/t))
	}
	if events == 0 {
		return Estimate{}, fmt.Errorf("%s: %w in either group", measure, ErrNoEvents)
	}
	value, se := over.Total()/weight.Total()*per, math.Sqrt(variance.Total())/weight.Total()*per
	half := criticalZ(level) * se
	return Estimate{
		Measure: measure, Value: value, Lower: value - half, Upper: value + half, SE: se,
		Level: level, P: twoSidedNormalP(value / se),
		Method: "Mantel-Haenszel, Greenland-Robins normal limits", Warnings: warnings,
	}, nil
}

// RateRatioHomogeneity tests whether one rate ratio holds in all strata. With
// events of both groups in every stratum it is
//
//	Σ (log r − log R)² / (1/a + 1/b)
//
// with r a stratum's ratio and R the Mantel-Haenszel one; otherwise, as logs
// do not exist then, the sum of
//
//	(a − mπ)² / (mπ(1−π)),  m = a+b,  π = R T1/(R T1 + T0)
//
// over the strata with events. Either has one degree of freedom less than it
// has strata; Method says which was used. Few events a stratum make it a weak
// and approximate test.
//
// It returns ErrNoVariance with fewer than two strata to compare, and the
// errors of MantelHaenszelRateRatio.
//
// References: Rothman KJ, Greenland S. Modern Epidemiology, 2nd ed.
// Lippincott-Raven, 1998, ch. 15. Breslow NE, Day NE. Statistical Methods in
// Cancer Research, vol. II. IARC, 1987, p. 110-112 (the second form).
func RateRatioHomogeneity(strata []RateStratum) (Test, error) {
	const name = "homogeneity of rate ratios"
	pooled, err := MantelHaenszelRateRatio(strata, LimitOptions{})
	if err != nil {
		return Test{}, err
	}
	compared, _, err := comparedStrata(name, strata)
	if err != nil {
		return Test{}, err
	}
	logs := true
	used := compared[:0]
	for _, s := range compared {
		if s.Events1+s.Events0 > 0 {
			used = append(used, s)
			logs = logs && s.Events1 > 0 && s.Events0 > 0
		}
	}
	if len(used) < 2 {
		return Test{}, fmt.Errorf("%s: %w, %d stratum has events", name, ErrNoVariance, len(used))
	}
	var sum Sum
	for _, s := range used {
		a, t1, b, t0, _ := s.terms()
		if logs {
			d := math.Log(a / t1 / (b / t0) / pooled.Value)
			sum.Add(d * d / (1/a + 1/b))
			continue
		}
		odds := pooled.Value * t1 / t0
		d := (a - b*odds) / (1 + odds) // a − mπ
		sum.Add(d * d / ((a + b) * odds / (1 + odds) / (1 + odds)))
	}
	method := "log ratios, inverse variances, around the Mantel-Haenszel ratio"
	if !logs {
		method = "counts given their total, around the Mantel-Haenszel ratio"
	}
	df := float64(len(used) - 1)
	return Test{Name: name, Statistic: sum.Total(), DF: df, P: chiSquaredTail(sum.Total(), df), Method: method, Warnings: pooled.Warnings}, nil
}
