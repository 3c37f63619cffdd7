package stats

import (
	"fmt"
	"math"
)

// An AgreementLimits is a way to make the confidence limits of the limits of
// agreement.
type AgreementLimits int

const (
	// ExactAgreementLimits are quantiles of the noncentral t distribution
	// (Carkeet); the default.
	ExactAgreementLimits AgreementLimits = iota
	// ApproximateAgreementLimits take the standard error √(3s²/n) of Bland and
	// Altman with Student's t.
	ApproximateAgreementLimits
)

// BlandAltmanOptions are the choices of BlandAltman; the zero value is 95%
// limits of agreement at ±1.96 standard deviations with exact limits at the
// level of 0.95.
type BlandAltmanOptions struct {
	Level      float64 // confidence level; 0 means 0.95
	Coverage   float64 // share of differences between the limits of agreement; 0 means 0.95
	Multiplier float64 // of the standard deviation; 0 means the normal quantile of Coverage
	Limits     AgreementLimits
}

// A BlandAltmanResult is the difference of two measurements of the same
// subjects.
type BlandAltmanResult struct {
	N            int
	Bias         Estimate // mean of first less second, P of no bias
	SD           float64  // of the differences
	Lower, Upper Estimate // limits of agreement with their limits
	Multiplier   float64
	// Slope is of the regression of the difference on the mean of both, with P
	// of 0: a check whether the difference changes with the size of what is
	// measured. NaN, with a warning, where the means do not vary.
	Slope     Estimate
	Intercept float64
	Warnings  []Warning
}

// BlandAltman describes how far two measurements of the same quantity differ:
// with d_i = first_i − second_i, mean d̄ and standard deviation s (divisor n−1),
// the bias d̄ with Student's limits, and the limits of agreement d̄ ± z s, between
// which a share Coverage of the differences is expected to lie if they are
// normal and their spread and mean do not depend on what is measured.
//
// The exact limits of a limit of agreement d̄ + z s are d̄ + s t/√n with t the
// quantiles of the noncentral t distribution with n−1 degrees of freedom and
// noncentrality z√n; those of the lower one mirror them. The approximate ones
// are ± t_{n−1} √(3 s²/n). The n pairs are independent: of children with several
// pairs see BlandAltmanRepeated.
//
// The slope of the difference on the mean, by least squares with Student's
// limits, is a check of proportional bias; where its P is below 1−Level a warning
// says so.
//
// It returns ErrTooFewRows below two pairs, ErrNotFinite for a value that is no
// number (leave incomplete pairs out before), and ErrNoVariance where all
// differences are equal.
//
// References: Bland JM, Altman DG. Statistical methods for assessing agreement
// between two methods of clinical measurement. Lancet 1986;i:307-310. Bland JM,
// Altman DG. Measuring agreement in method comparison studies. Stat Methods Med
// Res 1999;8:135-160 (slope). Carkeet A. Exact parametric confidence intervals
// for Bland-Altman limits of agreement. Optom Vis Sci 2015;92:e71-e80.
func BlandAltman(first, second []float64, opts BlandAltmanOptions) (BlandAltmanResult, error) {
	const measure = "limits of agreement"
	level := confidenceLevel(opts.Level)
	r := BlandAltmanResult{N: len(first), Multiplier: agreementMultiplier(opts)}
	differences, means, err := pairDifferences(first, second)
	if err != nil {
		return BlandAltmanResult{}, fmt.Errorf("%s: %w", measure, err)
	}
	mean, sd := meanSD(differences)
	if sd <= 0 || constant(differences) {
		return BlandAltmanResult{}, fmt.Errorf("%s of %d pairs: %w: every difference is %v", measure, r.N, ErrNoVariance, mean)
	}
	r.SD = sd
	n := float64(r.N)
	se := sd / math.Sqrt(n)
	t := criticalT(level, n-1)
	r.Bias = Estimate{
		Measure: "mean difference", Value: mean, Lower: mean - t*se, Upper: mean + t*se, SE: se,
		Level: level, P: studentTail(mean/se, n-1), Method: "Student's t",
	}
	near, far, method := agreementLimits(r.N, sd, level, r.Multiplier, opts.Limits)
	limit := func(name string, sign float64) Estimate {
		e := Estimate{
			Measure: name, Value: mean + sign*r.Multiplier*sd, SE: math.NaN(), P: math.NaN(), Level: level, Method: method,
			Lower: mean + sign*near, Upper: mean + sign*far,
		}
		if sign < 0 {
			e.Lower, e.Upper = e.Upper, e.Lower
		}
		if opts.Limits == ApproximateAgreementLimits {
			e.SE = math.Sqrt(3/n) * sd
		}
		return e
	}
	r.Lower, r.Upper = limit("lower limit of agreement", -1), limit("upper limit of agreement", 1)
	r.slope(differences, means, level)
	return r, nil
}

func agreementMultiplier(opts BlandAltmanOptions) float64 {
	coverage := opts.Coverage
	switch {
	case opts.Multiplier > 0 && coverage == 0:
		return opts.Multiplier
	case opts.Multiplier != 0:
		panic(fmt.Sprintf("stats: multiplier %v with coverage %v, expected one of both, above 0", opts.Multiplier, coverage))
	case coverage == 0:
		coverage = 0.95
	case !(coverage > 0 && coverage < 1):
		panic(fmt.Sprintf("stats: coverage %v of limits of agreement, expected a number between 0 and 1 such as 0.95", coverage))
	}
	return criticalZ(coverage)
}

// agreementLimits are the distances from the mean of the two confidence limits
// of a limit of agreement.
func agreementLimits(n int, sd, level, multiplier float64, how AgreementLimits) (near, far float64, method string) {
	size := float64(n)
	switch how {
	case ExactAgreementLimits:
		d := newNoncentralT(size-1, multiplier*math.Sqrt(size))
		tail := (1 - level) / 2
		scale := sd / math.Sqrt(size)
		return scale * d.quantile(tail), scale * d.quantile(1-tail), "exact limits, noncentral t"
	case ApproximateAgreementLimits:
		half := criticalT(level, size-1) * math.Sqrt(3/size) * sd
		return multiplier*sd - half, multiplier*sd + half, "approximate limits, standard error √(3s²/n)"
	}
	panic(fmt.Sprintf("stats: unknown AgreementLimits %d", how))
}

// pairDifferences are first less second and the mean of both.
func pairDifferences(first, second []float64) (differences, means []float64, err error) {
	if len(first) != len(second) {
		panic(fmt.Sprintf("stats: %d first and %d second measurements, expected pairs", len(first), len(second)))
	}
	for i, a := range first {
		b := second[i]
		if !finite(a) || !finite(b) || !finite(a-b) {
			return nil, nil, fmt.Errorf("%w: pair %d", ErrNotFinite, i+1)
		}
		differences, means = append(differences, a-b), append(means, a/2+b/2)
	}
	if len(first) < 2 {
		return nil, nil, fmt.Errorf("%w: found %d pairs, expected at least 2", ErrTooFewRows, len(first))
	}
	return differences, means, nil
}

func constant(values []float64) bool {
	for _, x := range values {
		if x != values[0] {
			return false
		}
	}
	return true
}

// slope is the check of proportional bias.
func (r *BlandAltmanResult) slope(differences, means []float64, level float64) {
	n := float64(r.N)
	nan := math.NaN()
	r.Slope = Estimate{Measure: "slope of the difference on the mean", Value: nan, Lower: nan, Upper: nan, SE: nan, P: nan, Level: level, Method: "least squares, Student's t"}
	r.Intercept = nan
	centre, spread := meanSD(means)
	if r.N < 3 || constant(means) || spread <= 0 {
		r.Slope.Warnings = append(r.Slope.Warnings, Warning{"not-estimable", "The slope of the difference on the mean needs three pairs whose means vary."})
		return
	}
	squares := spread * spread * (n - 1)
	mean := r.Bias.Value
	r.Slope.Value = compensatedSum(r.N, func(i int) float64 { return (means[i] - centre) * (differences[i] - mean) }) / squares
	r.Intercept = mean - r.Slope.Value*centre
	rest := compensatedSum(r.N, func(i int) float64 {
		e := differences[i] - mean - float64(r.Slope.Value*(means[i]-centre))
		return e * e
	})
	r.Slope.SE = math.Sqrt(rest / (n - 2) / squares)
	half := criticalT(level, n-2) * r.Slope.SE
	r.Slope.Lower, r.Slope.Upper = r.Slope.Value-half, r.Slope.Value+half
	r.Slope.P = studentTail(r.Slope.Value/r.Slope.SE, n-2)
	if r.Slope.P < 1-level {
		r.Warnings = append(r.Warnings, Warning{"proportional-bias", "The difference changes with the mean of both: one bias and one pair of limits of agreement do not describe all sizes."})
	}
}
