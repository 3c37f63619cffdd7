package stats

import (
	"fmt"
	"math"
	"slices"
)

// FirthOptions are the choices of FitFirth.
type FirthOptions struct {
	Level float64 // confidence level; 0 means 0.95
}

// FitFirth fits the logistic regression of FitLogistic by Firth's penalised
// likelihood, which maximises
//
//	l*(b) = l(b) + ½ log det I(b)
//
// with l the log likelihood and I its information. It takes the leading term of
// the bias of the estimates out and has finite ones under separation too, where
// FitLogistic has none. With h the diagonal of the hat matrix and π the fitted
// probabilities the estimates solve Σ (y − π + h (½ − π)) x = 0; they are found
// by Newton's method with the curvature of l* itself.
//
// Limits are of the profile: the values at which twice the fall of l*, maximised
// over the other coefficients, is the chi-squared quantile with one degree of
// freedom; an end at which it never falls so far is unbounded. P is of the
// penalised likelihood ratio likewise. Each limit is held against its equation
// before it is returned. SE comes from the inverse information at
// the estimates; Wald limits made of it are poor where this method is needed.
// LogLik is l*, NullLogLik its maximum with all slopes at 0, and Fit.Tests holds
// the penalised likelihood ratio of them.
//
// In a saturated table it adds ½ to every cell. Rows are taken to be
// independent: the penalty has no form for clusters. It returns ErrNoData,
// ErrTooFewRows, ErrNotFinite and ErrCollinear as FitLogistic does, ErrNoEvents
// and ErrNoVariance where all outcomes are the same, and ErrNotConverged. Few
// events give the warning few-events. In very small data l* can have more than
// one maximum: the largest found from several starts counts, and the warning
// several-maxima says so. A limit whose equation could not be met is NaN.
//
// Firth D. Bias reduction of maximum likelihood estimates. Biometrika
// 1993;80:27-38. Heinze G, Schemper M. A solution to the problem of separation
// in logistic regression. Stat Med 2002;21:2409-2419.
func FitFirth(x [][]float64, terms []string, y []bool, opts FirthOptions) (Fit, error) {
	const model = "penalised logistic regression (Firth)"
	level := confidenceLevel(opts.Level)
	outcome, events := zeroOne(y)
	m, err := newGLM(model, "odds ratio", logistic{}, x, terms, outcome, make([]float64, len(y)), GLMOptions{})
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
	p := len(terms) + 1
	start := make([]float64, p)
	start[0] = m.family.null(m.y, m.offset)
	l := &penalisedLikelihood{name: model, rows: len(y), first: 1, score: m.penalisedScore}
	best, several, err := l.penalisedBest(start)
	if err != nil {
		return Fit{}, err
	}
	slopes := make([]bool, p)
	for j := 1; j < p; j++ {
		slopes[j] = true
	}
	null, err := l.penalised(start, slopes)
	if err != nil {
		return Fit{}, err
	}
	unscaled := 0.0 // what the penalty has on the caller's columns more than on the scaled ones
	for _, s := range m.scale {
		unscaled += math.Log(s)
	}
	f := Fit{
		Model: model, Terms: slices.Concat([]string{Intercept}, terms),
		LogLik: best.logLik + unscaled, NullLogLik: null.logLik + unscaled,
		Deviance: math.NaN(), Dispersion: 1, DF: len(y) - p, N: len(y), Events: events, Iterations: best.iterations, risk: logitRisk,
	}
	f.Coefficients, f.Covariance = m.unscale(best.beta, best.covariance)
	f.SE = diagonalRoots(f.Covariance)
	f.ModelSE = f.SE
	for j, term := range terms {
		e, err := l.limits(best, start, j+1, m.scale[j], level)
		if err != nil {
			return Fit{}, fmt.Errorf("%s: limits of %q: %w", model, term, err)
		}
		e.Measure, e.Term, e.Method = "odds ratio", term, "profile penalised likelihood limits"
		f.Estimates = append(f.Estimates, e)
	}
	statistic := math.Max(0, 2*(f.LogLik-f.NullLogLik))
	f.Tests = []Test{{
		Name: "penalised likelihood ratio test", Statistic: statistic, DF: float64(p - 1),
		P: chiSquaredTail(statistic, float64(p-1)), Method: "chi-squared",
	}}
	f.Warnings = m.doubts(f, GLMOptions{}, math.NaN())
	if several {
		f.Warnings = append(f.Warnings, severalMaxima)
	}
	return f, nil
}

var severalMaxima = Warning{
	"several-maxima",
	"The penalised likelihood has more than one maximum: the estimates are of the largest one found, and limits may leave others out.",
}

// penalisedScore returns the penalised log likelihood, Firth's score and the
// information.
func (m *glm) penalisedScore(beta []float64) (logLik float64, gradient []float64, information [][]float64) {
	eta, _ := m.predict(beta)
	_, information = m.score(eta)
	gradient = make([]float64, len(beta))
	l, _, ok := cholesky(information, 0)
	if !ok {
		return math.Inf(-1), gradient, information
	}
	for j := range l {
		logLik += math.Log(l[j][j])
	}
	for i, row := range m.x {
		residual, weight := m.family.mean(m.y[i], eta[i])
		logLik += m.family.logLik(m.y[i], eta[i])
		h := weight * dot(row, choleskySolve(l, row))
		pi := m.y[i] - residual
		u := residual + h*(0.5-pi)
		for j, v := range row {
			gradient[j] += float64(u * v)
		}
	}
	return logLik, gradient, information
}
