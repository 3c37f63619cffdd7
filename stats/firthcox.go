package stats

import (
	"fmt"
	"math"
	"slices"
)

// FirthCoxOptions are the choices of FitFirthCox; the zero value is level 0.95
// and one baseline hazard.
type FirthCoxOptions struct {
	Level  float64   // confidence level; 0 means 0.95
	Strata []int     // stratum of each row, any numbers, each with its own baseline hazard; nil: one
	Offset []float64 // added to each row's x'b, with coefficient 1; nil: 0
}

// FitFirthCox fits the proportional hazards model of FitCox with Breslow's ties
// by Firth's penalised partial likelihood, which maximises
//
//	l*(b) = l(b) + ½ log det I(b)
//
// with l the log partial likelihood and I its information. Where FitCox returns
// ErrSeparation, the partial likelihood being monotone (a group without events,
// a perfect order), it has finite estimates, and with few events estimates less
// far from 1. The estimates solve
//
//	∂l/∂b_r + ½ tr(I⁻¹ ∂I/∂b_r) = 0,
//
// ∂I/∂b_r being the sum over events of the third central moments of the
// covariates over the risk set; they are found by Newton's method with the
// curvature of l* itself.
//
// Limits are of the profile: the values at which twice the fall of l*, maximised
// over the other coefficients, is the chi-squared quantile with one degree of
// freedom; an end at which it never falls so far is unbounded. P is of the
// penalised likelihood ratio likewise. Each limit is held against its equation
// before it is returned. SE comes from the inverse information at the estimates;
// Wald limits made of it are poor where this method is needed. LogLik is l*,
// NullLogLik l* with all coefficients at 0, and Fit.Tests holds the penalised
// likelihood ratio of the two. Residuals and baseline hazards are not made of
// this fit.
//
// Rows are taken to be independent and to count once: the penalty has no form
// for clusters or weights. It returns the errors of FitCox but ErrSeparation.
// Fewer than 10 events per coefficient give the warning few-events. In very small
// data l* can have more than one maximum: the largest found from several starts
// counts, and the warning several-maxima says so. A limit whose equation could
// not be met is NaN, with the warning limit-not-estimable.
//
// Heinze G, Schemper M. A solution to the problem of monotone likelihood in Cox
// regression. Biometrics 2001;57:114-119. Firth D. Bias reduction of maximum
// likelihood estimates. Biometrika 1993;80:27-38.
func FitFirthCox(t Times, x [][]float64, terms []string, opts FirthCoxOptions) (Fit, error) {
	const name = "penalised Cox regression (Firth)"
	level := confidenceLevel(opts.Level)
	cox := CoxOptions{Ties: TiesBreslow, Strata: opts.Strata, Offset: opts.Offset, Level: level}
	m, err := prepareCox(name, t, x, terms, cox)
	if err != nil {
		return Fit{}, err
	}
	p := len(terms)
	start := make([]float64, p)
	l := &penalisedLikelihood{name: name, rows: len(x), score: m.penalisedScore}
	best, several, err := l.penalisedBest(start)
	if err != nil {
		return Fit{}, err
	}
	null, _, _ := m.penalisedScore(start)
	unscaled := 0.0 // what the penalty has on the caller's columns more than on the scaled ones
	for _, s := range m.scale {
		unscaled += math.Log(s)
	}
	f := Fit{
		Model: name, Terms: slices.Clone(terms), Coefficients: make([]float64, p),
		LogLik: best.logLik + unscaled, NullLogLik: null + unscaled, Deviance: math.NaN(), Dispersion: 1,
		DF: p, N: m.rows, Events: m.events, Iterations: best.iterations, Ties: TiesBreslow,
		Covariance: m.unscale(best.covariance),
	}
	if opts.Strata != nil {
		f.Strata = len(m.strata)
	}
	f.SE = diagonalRoots(f.Covariance)
	f.ModelSE = f.SE
	for j, term := range terms {
		f.Coefficients[j] = best.beta[j] / m.scale[j]
		e, err := l.limits(best, start, j, m.scale[j], level)
		if err != nil {
			return Fit{}, fmt.Errorf("%s: limits of %q: %w", name, term, err)
		}
		e.Measure, e.Term, e.Method = "hazard ratio", term, "profile penalised likelihood limits, Breslow ties"
		f.Estimates = append(f.Estimates, e)
	}
	statistic := math.Max(0, 2*(f.LogLik-f.NullLogLik))
	f.Tests = []Test{{
		Name: "penalised likelihood ratio test", Statistic: statistic, DF: float64(p),
		P: chiSquaredTail(statistic, float64(p)), Method: "chi-squared",
	}}
	f.Warnings = m.fewEvents(p)
	if several {
		f.Warnings = append(f.Warnings, severalMaxima)
	}
	return f, nil
}

// penalisedScore returns the penalised log partial likelihood at scaled
// coefficients, its gradient and the information.
//
// With y = x − x̄ over a risk set and q = y'I⁻¹y the penalty adds Σ d E(y_r q)/2
// to the gradient. With z = x'I⁻¹x that is half of
// E(x_r z) − x̄_r E(z) − 2 (V I⁻¹x̄)_r, so that sums over risk sets of x and z and
// of their products do.
func (m *coxModel) penalisedScore(beta []float64) (logLik float64, gradient []float64, information [][]float64) {
	p := len(beta)
	logLik, gradient, information = m.likelihood(beta)
	l, _, ok := cholesky(information, 0)
	if !ok {
		return math.Inf(-1), gradient, information
	}
	for j := range l {
		logLik += math.Log(l[j][j])
	}
	wider := *m
	wider.x = newMatrix(len(m.x), p+1)
	wider.scale = append(slices.Clone(m.scale), 1)
	for i, row := range m.x {
		copy(wider.x[i], row)
		wider.x[i][p] = dot(row, choleskySolve(l, row))
	}
	_, w := m.relativeHazards(beta)
	mean := make([]float64, p+1)
	last := 1 + (p + 1) + p*(p+1)/2 // of the products, those with z
	wider.visit(w, coxProducts, func(g coxGroup, risk, _ []float64) {
		_, each := m.parts(g)
		for j := range mean {
			mean[j] = risk[1+j] / risk[0]
		}
		pull := choleskySolve(l, mean[:p])
		at := 1 + (p + 1)
		for r := range p {
			third := risk[last+r]/risk[0] - float64(mean[r]*mean[p])
			for k := range r + 1 {
				v := risk[at]/risk[0] - float64(mean[r]*mean[k])
				third -= 2 * float64(v*pull[k])
				if k < r {
					gradient[k] -= float64(each * v * pull[r])
				}
				at++
			}
			gradient[r] += float64(each*third) / 2
		}
	})
	return logLik, gradient, information
}
