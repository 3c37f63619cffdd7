package stats

import (
	"fmt"
	"math"
	"slices"
)

// fit maximises the likelihood and lays out what came of it.
func (m *glm) fit(opts GLMOptions) (Fit, error) {
	level := confidenceLevel(opts.Level)
	at, err := m.maximise()
	if err != nil {
		return Fit{}, err
	}
	df := len(m.y) - len(at.beta)
	f := Fit{
		Model:      m.model,
		Terms:      slices.Concat([]string{Intercept}, m.terms),
		Deviance:   at.deviance,
		Dispersion: 1,
		DF:         df,
		N:          len(m.y),
		Events:     m.events,
		Iterations: at.iterations,
		risk:       riskLinkOf(m.family),
	}
	null := m.family.null(m.y, m.offset)
	sums := sumChunks(len(m.y), 3, func(sums []float64, from, to int) {
		var logLik, none, squares float64
		for i := from; i < to; i++ {
			y := m.y[i]
			logLik += m.family.logLik(y, at.eta[i])
			none += m.family.logLik(y, m.offset[i]+null)
			residual, variance := m.family.mean(y, at.eta[i])
			squares += residual * residual / variance
		}
		sums[0], sums[1], sums[2] = logLik, none, squares
	})
	f.LogLik, f.NullLogLik = sums[0], sums[1]
	pearson := sums[2]
	if m.nullLogLik != nil {
		f.NullLogLik = *m.nullLogLik
	}
	model, method := at.covariance, "model-based"
	if opts.Dispersion {
		if df == 0 {
			return Fit{}, fmt.Errorf("%s: %w: %d leave none to estimate the dispersion of %d coefficients", m.model, ErrTooFewRows, len(m.y), len(at.beta))
		}
		f.Dispersion, method = pearson/float64(df), "scaled by the Pearson dispersion"
		model = scaled(model, f.Dispersion)
	}
	f.Coefficients, f.Covariance = m.unscale(at.beta, model)
	f.ModelSE = diagonalRoots(f.Covariance)
	if opts.Cluster != nil {
		if err := m.robust(&f, at, opts); err != nil {
			return Fit{}, fmt.Errorf("%s: %w", m.model, err)
		}
		method = f.Robust
	}
	f.SE = diagonalRoots(f.Covariance)
	for j, term := range m.terms {
		b, se := f.Coefficients[j+1], f.SE[j+1]
		half := f.critical(j+1, level) * se
		f.Estimates = append(f.Estimates, Estimate{
			Measure: m.measure,
			Term:    term,
			Value:   math.Exp(b),
			Lower:   math.Exp(b - half),
			Upper:   math.Exp(b + half),
			SE:      se,
			Level:   level,
			P:       f.tail(j+1, b/se),
			Method:  "Wald limits, " + method + f.reference,
		})
	}
	f.Tests = m.tests(f, opts)
	f.Warnings = append(f.Warnings, m.doubts(f, opts, pearson)...)
	return f, nil
}

// logLik is the log likelihood at linear predictors.
func (m *glm) logLik(eta []float64) float64 {
	sum := 0.0
	for i, y := range m.y {
		sum += m.family.logLik(y, eta[i])
	}
	return sum
}

// tests makes the tests that all coefficients but the intercept are 0. The
// likelihood ratio holds for independent rows of the family's variance only.
func (m *glm) tests(f Fit, opts GLMOptions) []Test {
	p := len(m.terms)
	if p == 0 {
		return nil
	}
	var tests []Test
	if opts.Cluster == nil && !opts.Dispersion {
		statistic := math.Max(0, 2*(f.LogLik-f.NullLogLik))
		tests = append(tests, Test{
			Name: "likelihood ratio test", Statistic: statistic, DF: float64(p),
			P: chiSquaredTail(statistic, float64(p)), Method: "chi-squared, model-based",
		})
	}
	slopes := make([]int, p)
	for j := range slopes {
		slopes[j] = j + 1
	}
	return append(tests, f.JointTest("Wald test", slopes))
}

func (m *glm) doubts(f Fit, opts GLMOptions, pearson float64) []Warning {
	var out []Warning
	if p := len(m.terms); m.fewest < eventsPerCoefficient*p {
		out = append(out, Warning{"few-events", fmt.Sprintf(
			"%d events (or non-events, if fewer) and %d coefficients besides the intercept, fewer than %d each: ratios tend to be too far from 1 and limits too narrow.",
			m.fewest, p, eventsPerCoefficient)})
	}
	if _, counts := m.family.(poisson); counts && opts.Cluster == nil && !opts.Dispersion && f.DF > 0 {
		if ratio := pearson / float64(f.DF); ratio > 1.5 && chiSquaredTail(pearson, float64(f.DF)) < 0.05 {
			out = append(out, Warning{"overdispersed", fmt.Sprintf(
				"Pearson's chi-square is %.3g times its degrees of freedom: the counts vary more than Poisson counts do, and errors are too small.", ratio)})
		}
	}
	return out
}

func scaled(a [][]float64, by float64) [][]float64 {
	out := newMatrix(len(a), len(a))
	for i := range a {
		for j, v := range a[i] {
			out[i][j] = v * by
		}
	}
	return out
}
