package stats

import (
	"fmt"
	"math"
)

// HomogeneityOptions are the choices of OddsRatioHomogeneity.
type HomogeneityOptions struct {
	Uncorrected bool // leave out Tarone's correction
}

// OddsRatioHomogeneity is the test of Breslow and Day whether one odds ratio
// holds in all strata,
//
//	Σ (a − A)² / V,  V = 1/(1/A + 1/B + 1/C + 1/D)
//
// where A to D are the counts of a stratum that have its margins and the
// Mantel-Haenszel odds ratio. Tarone's correction for that estimate's not being
// of greatest likelihood takes (Σ (a − A))²/Σ V off; it is made unless
// Uncorrected. It is chi-squared on the strata less one; few persons a stratum
// make it doubtful, and HomogeneityExact is then the better test.
//
// Strata with an empty margin contribute nothing; a warning counts them. It
// returns ErrNoVariance when fewer than two remain, and the errors of
// MantelHaenszelOddsRatio.
//
// References: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// I. IARC, 1980, p. 142-146. Tarone RE. On heterogeneity tests based on
// efficient scores. Biometrika 1985;72:91-95.
func OddsRatioHomogeneity(strata []TableStratum, opts HomogeneityOptions) (Test, error) {
	const name = "homogeneity of odds ratios"
	pooled, err := MantelHaenszelOddsRatio(strata, LimitOptions{})
	if err != nil {
		return Test{}, err
	}
	kept, warnings, err := contributing(name, strata, TableStratum.informative)
	if err != nil {
		return Test{}, err
	}
	if len(kept) < 2 {
		return Test{}, tooFewStrata(name, len(kept))
	}
	var sum, surplus, variances Sum
	small := 0
	for _, s := range kept {
		a := float64(s.A)
		fa, fb, fc, fd := s.fitted(pooled.Value)
		v := 1 / (1/fa + 1/fb + 1/fc + 1/fd)
		sum.Add((a - fa) * (a - fa) / v)
		surplus.Add(a - fa)
		variances.Add(v)
		if math.Min(math.Min(fa, fb), math.Min(fc, fd)) < 1 {
			small++
		}
	}
	t := Test{Name: name, Statistic: sum.Total(), DF: float64(len(kept) - 1), Method: "Breslow-Day, Tarone's correction", Warnings: warnings}
	if opts.Uncorrected {
		t.Method = "Breslow-Day, without Tarone's correction"
	} else {
		t.Statistic = math.Max(0, t.Statistic-surplus.Total()*surplus.Total()/variances.Total())
	}
	t.P = chiSquaredTail(t.Statistic, t.DF)
	if small > 0 {
		t.Warnings = append(t.Warnings, Warning{"small-expected", fmt.Sprintf(
			"%d of %d strata have an expected count below 1: the chi-square approximation is doubtful.", small, len(kept))})
	}
	return t, nil
}

func tooFewStrata(name string, n int) error {
	return fmt.Errorf("%s: %w between strata: %d can be compared, expected at least 2", name, ErrNoVariance, n)
}

// fitted are the counts with the stratum's margins and the given odds ratio: a
// root of (1−ψ)A² + (n0 − m1 + ψ(n1+m1))A − ψ n1 m1, in the form that does not
// cancel.
func (s TableStratum) fitted(psi float64) (a, b, c, d float64) {
	_, _, _, _, n1, n0, m1, _, _ := s.terms()
	half := n0 - m1 + psi*(n1+m1)
	root := math.Sqrt(half*half + 4*(1-psi)*psi*n1*m1)
	if half >= 0 {
		a = 2 * psi * n1 * m1 / (half + root)
	} else {
		a = (root - half) / (2 * (1 - psi)) // half < 0 only below ψ = 1
	}
	return a, n1 - a, m1 - a, n0 - m1 + a
}

// RiskRatioHomogeneity tests whether one risk ratio holds in all strata:
//
//	Σ w (log r − log R)²,  1/w = 1/a − 1/n1 + 1/c − 1/n0
//
// with r a stratum's ratio, n1 and n0 the persons of its groups and log R the
// mean of the log r with weights w, chi-squared on the strata less one. It
// wants strata of some size.
//
// Strata with an empty group or without an outcome contribute nothing; a
// warning counts them. It returns ErrZeroCell when one group of a
// stratum has no outcome, ErrNoVariance when everybody in a stratum has it or
// fewer than two strata remain, ErrNoEvents when nobody has the outcome, and
// ErrNoData when no stratum has persons of both groups.
//
// Reference: Rothman KJ, Greenland S. Modern Epidemiology, 2nd ed.
// Lippincott-Raven, 1998, ch. 15 (the form; from memory).
func RiskRatioHomogeneity(strata []TableStratum) (Test, error) {
	const name = "homogeneity of risk ratios"
	kept, warnings, err := contributing(name, strata, func(s TableStratum) bool { return s.groups() && s.A+s.C > 0 })
	if err != nil {
		return Test{}, noOutcome(name, strata, err)
	}
	value, variance := make([]float64, len(kept)), make([]float64, len(kept))
	for i, s := range kept {
		a, b, c, d, n1, n0, _, _, _ := s.terms()
		if s.A == 0 || s.C == 0 {
			return Test{}, twoByTwo{s.A, s.B, s.C, s.D}.zeroCell(name+": stratum", "an outcome in both groups")
		}
		value[i], variance[i] = math.Log(a/n1/(c/n0)), b/a/n1+d/c/n0
	}
	return weightedHomogeneity(name, "log ratios, inverse variances", value, variance, warnings)
}

// RiskDifferenceHomogeneity tests whether one risk difference holds in all
// strata:
//
//	Σ w (d − D)²,  1/w = ab/n1³ + cd/n0³
//
// with d a stratum's difference, n1 and n0 the persons of its groups and D the
// mean of the d with weights w, chi-squared on the strata less one. It wants
// strata of some size.
//
// Strata with an empty group contribute nothing; a warning counts them. It
// returns ErrNoVariance when nobody or everybody in both groups of a stratum
// has the outcome (its difference then has a variance of 0) or fewer than two
// strata remain, and ErrNoData when no stratum has persons of both groups.
//
// Reference: Rothman KJ, Greenland S. Modern Epidemiology, 2nd ed.
// Lippincott-Raven, 1998, ch. 15 (the form; from memory).
func RiskDifferenceHomogeneity(strata []TableStratum) (Test, error) {
	const name = "homogeneity of risk differences"
	kept, warnings, err := contributing(name, strata, TableStratum.groups)
	if err != nil {
		return Test{}, err
	}
	value, variance := make([]float64, len(kept)), make([]float64, len(kept))
	for i, s := range kept {
		a, b, c, d, n1, n0, _, _, _ := s.terms()
		value[i], variance[i] = a/n1-c/n0, a/n1*(b/n1)/n1+c/n0*(d/n0)/n0
	}
	return weightedHomogeneity(name, "differences, inverse variances", value, variance, warnings)
}

// weightedHomogeneity is the sum of squares about the mean with weights the
// inverse of the variances.
func weightedHomogeneity(name, method string, value, variance []float64, warnings []Warning) (Test, error) {
	if len(value) < 2 {
		return Test{}, tooFewStrata(name, len(value))
	}
	var over, weight, sum Sum
	for i, v := range variance {
		if !(v > 0) {
			return Test{}, fmt.Errorf("%s: %w within a stratum, the %d. of %d that can be compared", name, ErrNoVariance, i+1, len(value))
		}
		over.Add(value[i] / v)
		weight.Add(1 / v)
	}
	mean := over.Total() / weight.Total()
	for i, v := range variance {
		d := value[i] - mean
		sum.Add(d * d / v)
	}
	df := float64(len(value) - 1)
	return Test{Name: name, Statistic: sum.Total(), DF: df, P: chiSquaredTail(sum.Total(), df), Method: method, Warnings: warnings}, nil
}
