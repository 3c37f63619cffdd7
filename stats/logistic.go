package stats

import (
	"fmt"
	"math"
)

// FitLogistic fits the logistic regression logit P(y) = b0 + x'b by maximum
// likelihood. x holds one row of covariates for each outcome, terms the names
// of its columns; the function adds the intercept as the first coefficient.
// Newton's method (iteratively reweighted least squares) runs until the linear
// predictors stand still to nine digits.
//
// Estimates are odds ratios exp(b) with Wald limits exp(b ± z SE) and p-values.
// Fit.Tests holds the likelihood ratio and Wald tests that all coefficients but
// the intercept are 0. With Cluster, SE and limits use the robust covariance
// with the factor G/(G−1) for G clusters (Uncorrected leaves it out). When the
// outcome is common, odds ratios are further from 1 than risk ratios.
//
// It returns ErrNoData and ErrTooFewRows; ErrNotFinite for covariates that are
// not; ErrNoEvents when no outcome is true and ErrNoVariance when all are;
// ErrCollinear naming a column that is constant or a combination of others;
// ErrSeparation naming the terms whose coefficients would be infinite;
// ErrTooFewClusters; ErrNotConverged. Fewer than 10 events, or non-events, per
// coefficient give the warning few-events; few clusters few-clusters.
//
// Reference: Hosmer DW, Lemeshow S. Applied Logistic Regression, 2nd ed. Wiley,
// 2000.
func FitLogistic(x [][]float64, terms []string, y []bool, opts GLMOptions) (Fit, error) {
	const model = "logistic regression"
	outcome, events := zeroOne(y)
	m, err := newGLM(model, "odds ratio", logistic{}, x, terms, outcome, make([]float64, len(y)), opts)
	if err != nil {
		return Fit{}, err
	}
	if events == 0 {
		return Fit{}, fmt.Errorf("%s: %w in %d rows", model, ErrNoEvents, len(y))
	}
	if events == len(y) {
		return Fit{}, fmt.Errorf("%s: %w: all %d rows have the outcome", model, ErrNoVariance, len(y))
	}
	m.events, m.fewest = events, min(events, len(y)-events)
	return m.fit(opts)
}

// logistic is the Bernoulli distribution with its logit.
type logistic struct{}

func (logistic) null(y, _ []float64) float64 {
	sum := 0.0
	for _, v := range y {
		sum += v
	}
	return math.Log(sum / (float64(len(y)) - sum))
}

func (logistic) mean(y, eta float64) (residual, variance float64) {
	e := math.Exp(-math.Abs(eta))
	near, far := e/(1+e), 1/(1+e) // probabilities of the unlikelier and the likelier outcome
	if (y == 1) == (eta < 0) {
		residual = far
	} else {
		residual = near
	}
	if y == 0 {
		residual = -residual
	}
	return residual, near * far
}

func (f logistic) deviance(y, eta float64) float64 { return -2 * f.logLik(y, eta) }

// logLik is −log(1 + exp(∓eta)).
func (logistic) logLik(y, eta float64) float64 {
	if y == 1 {
		eta = -eta
	}
	return -(max(eta, 0) + math.Log1p(math.Exp(-math.Abs(eta))))
}

func (logistic) recedes(y, step, slack float64) bool {
	if y == 1 {
		return step >= -slack
	}
	return step <= slack
}

// zeroOne is 1 for each yes and 0 for each no, with the number of yes.
func zeroOne(y []bool) (outcome []float64, events int) {
	outcome = make([]float64, len(y))
	for i, yes := range y {
		if yes {
			outcome[i] = 1
			events++
		}
	}
	return outcome, events
}
