package stats

import (
	"fmt"
	"math"
)

// FitLogBinomial fits the log-linear model of risks log P(y) = b0 + x'b by
// maximum likelihood (Wacholder), over the coefficients that keep every risk of
// the rows below 1. x holds one row of covariates for each outcome, terms the
// names of its columns; the function adds the intercept, the log risk of the
// reference, as the first coefficient.
//
// Estimates are risk ratios exp(b) with Wald limits exp(b ± z SE); the
// covariance is the inverse of the expected information, Σ μ/(1−μ) xx' for risks
// μ, or robust with opts.Cluster as for FitLogistic, made of the scores
// (y−μ)/(1−μ) x. Fit.Tests holds the likelihood ratio and Wald tests that all
// coefficients but the intercept are 0.
//
// The log likelihood is concave, so that a point inside at which it is level is
// its maximum. There may be none: where the likelihood is largest with the risk
// of some row at 1, that point is no root of the score, and neither its errors
// nor its limits mean what they say. It is refused with ErrBoundary;
// FitModifiedPoisson, or MarginalRiskRatio of a logistic model, answer then.
// The estimates depend on the rows whose risks are near 1 more than theirs do.
//
// It returns the errors of FitLogistic besides: ErrNoData, ErrTooFewRows,
// ErrNotFinite, ErrNoEvents, ErrNoVariance, ErrCollinear (also where the rows
// without the outcome leave a coefficient undetermined), ErrSeparation such as
// for a level without events, ErrTooFewClusters, ErrNotConverged.
// opts.Dispersion is the caller's mistake.
//
// Wacholder S. Binomial regression in GLIM: estimating risk ratios and risk
// differences. Am J Epidemiol 1986;123:174-184. Williamson T, Eliasziw M, Fick
// GH. Log-binomial models: exploring failed convergence. Emerg Themes Epidemiol
// 2013;10:14.
func FitLogBinomial(x [][]float64, terms []string, y []bool, opts GLMOptions) (Fit, error) {
	const model = "log-binomial regression"
	if opts.Dispersion {
		panic("stats: a log-binomial model with dispersion")
	}
	outcome, events := zeroOne(y)
	m, err := newGLM(model, "risk ratio", logBinomial{}, x, terms, outcome, make([]float64, len(y)), opts)
	if err != nil {
		return Fit{}, err
	}
	switch events {
	case 0:
		return Fit{}, fmt.Errorf("%s: %w in %d rows", model, ErrNoEvents, len(y))
	case len(y):
		return Fit{}, fmt.Errorf("%s: %w: all %d rows have the outcome", model, ErrNoVariance, len(y))
	}
	m.events, m.fewest = events, min(events, len(y)-events)
	return m.fit(opts)
}

// logBinomial is the Bernoulli distribution with the log link. It is not
// canonical: the residual of mean is (y − μ)/(1 − μ), the derivative of the log
// likelihood, and the variance its expected square μ/(1 − μ), so that the one
// over the root of the other is Pearson's residual all the same.
type logBinomial struct{}

func (logBinomial) null(y, _ []float64) float64 {
	sum := 0.0
	for _, v := range y {
		sum += v
	}
	return math.Log(sum / float64(len(y)))
}

func (logBinomial) mean(y, eta float64) (residual, variance float64) {
	odds := math.Exp(eta) / -math.Expm1(eta)
	if y == 1 {
		return 1, odds
	}
	return -odds, odds
}

func (f logBinomial) deviance(y, eta float64) float64 { return -2 * f.logLik(y, eta) }

// logLik is −∞ where the risk is 1 or more.
func (logBinomial) logLik(y, eta float64) float64 {
	switch {
	case !(eta < 0):
		return math.Inf(-1)
	case y == 1:
		return eta
	}
	return math.Log(-math.Expm1(eta))
}

// recedes is that of a Poisson model: a risk that has an event cannot fall, none
// can rise without end.
func (logBinomial) recedes(y, step, slack float64) bool { return poisson{}.recedes(y, step, slack) }
