package stats

import (
	"fmt"
	"math"
)

// MantelHaenszelRiskRatio is the risk ratio of two groups pooled over strata,
//
//	Σ a n0/n / Σ c n1/n
//
// with n1 and n0 the persons of the groups and n all of a stratum. Limits are
// symmetric on the log scale with the variance of Greenland and Robins,
//
//	Σ (m n1 n0 − a c n)/n² / (Σ a n0/n · Σ c n1/n),  m = a+c
//
// and P is that of CochranMantelHaenszel without correction. One ratio is taken
// to hold in all strata: see RiskRatioHomogeneity. In a cross-sectional study
// it is the prevalence ratio.
//
// Strata with an empty group or without an outcome contribute nothing; a
// warning counts them. It returns ErrNoEvents when nobody has the outcome,
// ErrZeroCell when one group has none, ErrNoVariance when everybody has it, and
// ErrNoData when no stratum has persons of both groups.
//
// Reference: Greenland S, Robins JM. Estimation of a common effect parameter
// from sparse follow-up data. Biometrics 1985;41:55-68.
func MantelHaenszelRiskRatio(strata []TableStratum, opts LimitOptions) (Estimate, error) {
	const measure = "risk ratio"
	level := confidenceLevel(opts.Level)
	kept, warnings, err := contributing(measure, strata, func(s TableStratum) bool { return s.groups() && s.A+s.C > 0 })
	if err != nil {
		return Estimate{}, noOutcome(measure, strata, err)
	}
	var over, under, variance Sum
	for _, s := range kept {
		a, b, c, d, n1, n0, _, _, n := s.terms()
		over.Add(a * n0 / n)
		under.Add(c * n1 / n)
		variance.Add((a*n1*d + c*n0*b) / n / n) // m n1 n0 − a c n, without cancellation
	}
	r, s := over.Total(), under.Total()
	switch {
	case r == 0 || s == 0:
		return Estimate{}, fmt.Errorf("%s pooled over %d strata: %w, expected an outcome in both groups", measure, len(kept), ErrZeroCell)
	case everybody(kept):
		return Estimate{}, fmt.Errorf("%s: everybody has the outcome: %w", measure, ErrNoVariance)
	}
	se := math.Sqrt(variance.Total() / r / s)
	e := logRatio(measure, "Mantel-Haenszel, Greenland-Robins limits, Cochran-Mantel-Haenszel test", r/s, se, level)
	return withCMH(e, strata, warnings), nil
}

// noOutcome is ErrNoEvents where persons are there and none has the outcome,
// and err elsewhere.
func noOutcome(measure string, strata []TableStratum, err error) error {
	for _, s := range strata {
		if s.groups() && s.A+s.C > 0 {
			return err
		}
	}
	for _, s := range strata {
		if s.groups() {
			return fmt.Errorf("%s: %w in either group", measure, ErrNoEvents)
		}
	}
	return err
}

// A RiskDifferenceVariance is a way to make the variance of a pooled risk
// difference.
type RiskDifferenceVariance int

const (
	// SatoVariance holds for few large strata as for many small ones; it is the
	// default.
	SatoVariance RiskDifferenceVariance = iota
	// GreenlandRobinsVariance is the sum of the strata's binomial variances; it
	// wants both groups of every stratum to be of some size.
	GreenlandRobinsVariance
)

// PooledDifferenceOptions are the choices of MantelHaenszelRiskDifference; the
// zero value is a level of 0.95 and Sato's variance.
type PooledDifferenceOptions struct {
	Level    float64 // confidence level; 0 means 0.95
	Variance RiskDifferenceVariance
}

// MantelHaenszelRiskDifference is the risk difference of two groups pooled over
// strata,
//
//	δ = Σ (a n0 − c n1)/n / W,  W = Σ n1 n0/n
//
// with n1 and n0 the persons of the groups and n all of a stratum, and normal
// limits, cut at −1 and 1, by Sato's variance
//
//	(δ Σ (n1² c − n0² a + n1 n0 (n0−n1)/2)/n² + Σ (a d + b c)/(2n)) / W²
//
// or that of Greenland and Robins, Σ (a b n0²/n1 + c d n1²/n0)/n² / W². P is
// that of CochranMantelHaenszel without correction. One difference is taken to
// hold in all strata: see RiskDifferenceHomogeneity.
//
// Strata with an empty group contribute nothing; a warning counts them. Those
// without an outcome count: their difference is 0. It returns ErrNoVariance
// when the variance is 0, as where nobody or everybody has the outcome, and
// ErrNoData when no stratum has persons of both groups.
//
// References: Greenland S, Robins JM. Biometrics 1985;41:55-68. Sato T,
// Greenland S, Robins JM. On the variance estimator for the Mantel-Haenszel
// risk difference. Biometrics 1989;45:1323-1324 (from memory).
func MantelHaenszelRiskDifference(strata []TableStratum, opts PooledDifferenceOptions) (Estimate, error) {
	const measure = "risk difference"
	level := confidenceLevel(opts.Level)
	kept, warnings, err := contributing(measure, strata, TableStratum.groups)
	if err != nil {
		return Estimate{}, err
	}
	var over, weight, slope, level0, binomial Sum
	for _, s := range kept {
		a, b, c, d, n1, n0, _, _, n := s.terms()
		over.Add((a*d - b*c) / n) // a n0 − c n1 = ad − bc
		weight.Add(n1 * n0 / n)
		slope.Add((n1*n1*c - n0*n0*a + n1*n0*(n0-n1)/2) / n / n)
		level0.Add((a*d + b*c) / n / 2)
		binomial.Add((a*b*(n0/n1)*n0 + c*d*(n1/n0)*n1) / n / n)
	}
	value := over.Total() / weight.Total()
	var variance float64
	e := Estimate{Measure: measure, Value: value, Level: level}
	switch opts.Variance {
	case SatoVariance:
		variance = value*slope.Total() + level0.Total()
		if variance < 1e-12*level0.Total() {
			variance = 0 // what rounding left of a difference of −1 or 1
		}
		e.Method = "Mantel-Haenszel, Sato normal limits, Cochran-Mantel-Haenszel test"
	case GreenlandRobinsVariance:
		variance = binomial.Total()
		e.Method = "Mantel-Haenszel, Greenland-Robins normal limits, Cochran-Mantel-Haenszel test"
	default:
		panic(fmt.Sprintf("stats: unknown RiskDifferenceVariance %d", opts.Variance))
	}
	if !(variance > 0) {
		return Estimate{}, fmt.Errorf("%s pooled over %d strata: %w within the groups", measure, len(kept), ErrNoVariance)
	}
	e.SE = math.Sqrt(variance) / weight.Total()
	half := criticalZ(level) * e.SE
	e.Lower, e.Upper = math.Max(-1, value-half), math.Min(1, value+half)
	return withCMH(e, strata, warnings), nil
}

func everybody(strata []TableStratum) bool {
	for _, s := range strata {
		if s.B+s.D > 0 {
			return false
		}
	}
	return true
}
