package stats

import "fmt"

// FitModifiedPoisson estimates risk ratios of a yes-or-no outcome by the
// log-linear model of FitPoisson with robust errors (Zou): log risk = b0 + x'b.
// Poisson's variance, too large for an outcome of 0 or 1, is replaced by the
// robust one; without Cluster each row is a cluster of its own. Unlike a
// binomial model with the log link it always has estimates, but nothing holds
// its predicted risks below 1.
//
// Errors are CR1 unless opts.Robust says otherwise, for single rows CR0 where
// opts.Uncorrected. It returns the errors of FitPoisson, and ErrNoVariance where
// all rows have the outcome. opts.Dispersion is the caller's mistake.
//
// Zou G. A modified Poisson regression approach to prospective studies with
// binary data. Am J Epidemiol 2004;159:702-706. Zou GY, Donner A. Extension of
// the modified Poisson regression model to prospective studies with correlated
// binary data. Stat Methods Med Res 2013;22:661-670.
func FitModifiedPoisson(x [][]float64, terms []string, y []bool, opts GLMOptions) (Fit, error) {
	if opts.Dispersion {
		panic("stats: a modified Poisson model with dispersion")
	}
	counts, events := zeroOne(y)
	if events == len(y) && events > 0 {
		return Fit{}, fmt.Errorf("modified Poisson regression: %w: all %d rows have the outcome", ErrNoVariance, len(y))
	}
	if opts.Cluster == nil {
		opts.Cluster = make([]int, len(y))
		for i := range y {
			opts.Cluster[i] = i
		}
	}
	f, err := FitPoisson(x, terms, counts, nil, opts)
	if err != nil {
		return Fit{}, err
	}
	f.Model, f.risk = "modified Poisson regression", logRisk
	for i := range f.Estimates {
		f.Estimates[i].Measure = "risk ratio"
	}
	return f, nil
}
