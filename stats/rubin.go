package stats

import (
	"fmt"
	"math"
)

// A Pooled is an estimate over several completed data sets.
type Pooled struct {
	Estimate         // limits and P by Student's t on DF
	DF       float64 // +Inf where the imputations do not differ and the data have no limit of their own
	Within   float64 // mean of the variances
	Between  float64 // variance of the estimates
	Increase float64 // relative increase in variance due to missing values
	Missing  float64 // fraction of missing information
	M        int     // completed data sets
}

// PooledOptions are the choices of PoolImputed.
type PooledOptions struct {
	Level float64 // confidence level; 0 means 0.95
	// CompleteDF are the degrees of freedom that the estimate would have without
	// missing values; 0 or +Inf: the normal distribution.
	CompleteDF float64
}

// PoolImputed combines the estimates of a quantity from m completed data sets,
// with their variances, by Rubin's rules: with Q̄ the mean of the estimates, W that
// of the variances and B the variance of the estimates (divisor m−1) the variance
// of Q̄ is
//
//	T = W + (1 + 1/m) B
//
// and limits are Q̄ ± t √T with t on Barnard and Rubin's degrees of freedom
//
//	1/ν = 1/ν_m + 1/ν_obs,  ν_m = (m−1)/λ²,  ν_obs = (ν_com+1)/(ν_com+3) ν_com (1−λ)
//
// where λ = (1+1/m)B/T and ν_com is opts.CompleteDF; ν_m alone where that is
// infinite. Increase is (1+1/m)B/W and Missing (r + 2/(ν+3))/(1+r) with r the
// increase. The quantity must be nearly normal: pool log ratios, not ratios.
//
// It returns ErrTooFewRows for fewer than two data sets, ErrNotFinite, and
// ErrNoVariance where no data set has any.
//
// Rubin DB. Multiple Imputation for Nonresponse in Surveys. Wiley, 1987.
// Barnard J, Rubin DB. Small-sample degrees of freedom with multiple
// imputation. Biometrika 1999;86:948-955.
func PoolImputed(estimates, variances []float64, opts PooledOptions) (Pooled, error) {
	if len(estimates) != len(variances) {
		panic(fmt.Sprintf("stats: %d estimates with %d variances", len(estimates), len(variances)))
	}
	m := float64(len(estimates))
	if m < 2 {
		return Pooled{}, fmt.Errorf("pooling over imputations: %w: found %.0f, expected at least 2 completed data sets", ErrTooFewRows, m)
	}
	var q, w Sum
	for i, v := range variances {
		if !finite(v) || !finite(estimates[i]) || v < 0 {
			return Pooled{}, fmt.Errorf("pooling over imputations: %w: estimate %v with variance %v of data set %d", ErrNotFinite, estimates[i], v, i+1)
		}
		q.Add(estimates[i])
		w.Add(v)
	}
	p := Pooled{M: len(estimates), Within: w.Total() / m}
	mean := q.Total() / m
	var b Sum
	for _, e := range estimates {
		b.Add((e - mean) * (e - mean))
	}
	p.Between = b.Total() / (m - 1)
	extra := (1 + 1/m) * p.Between
	total := p.Within + extra
	if !(total > 0) {
		return Pooled{}, fmt.Errorf("pooling over imputations: %w of the estimates", ErrNoVariance)
	}
	lambda := extra / total
	p.DF = math.Inf(1)
	if lambda > 0 {
		p.DF = (m - 1) / (lambda * lambda)
	}
	if com := opts.CompleteDF; com > 0 && !math.IsInf(com, 1) {
		observed := (com + 1) / (com + 3) * com * (1 - lambda)
		p.DF = 1 / (1/p.DF + 1/observed)
	}
	p.Increase = extra / p.Within
	p.Missing = lambda
	if p.Within > 0 {
		p.Missing = (p.Increase + 2/(p.DF+3)) / (1 + p.Increase)
	}
	level := confidenceLevel(opts.Level)
	se := math.Sqrt(total)
	critical, tail := criticalZ(level), twoSidedNormalP(mean/se)
	if !math.IsInf(p.DF, 1) {
		critical, tail = criticalT(level, p.DF), studentTail(mean/se, p.DF)
	}
	p.Estimate = Estimate{
		Measure: "pooled", Value: mean, Lower: mean - critical*se, Upper: mean + critical*se, SE: se, Level: level, P: tail,
		Method: fmt.Sprintf("Rubin's rules over %d imputations, t on %.4g degrees of freedom", p.M, p.DF),
	}
	return p, nil
}
