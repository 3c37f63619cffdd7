package stats

import "math"

// LogisticScore gives the odds ratios of FitLogistic with score limits: the
// values of a coefficient at which the score test, with the other coefficients
// at their maximum given it, has the chi-squared quantile with one degree of
// freedom
//
//	U² (I⁻¹)_jj = χ²    U, I of all coefficients at that point
//
// with I the expected information; P is of the score test that it is 0. Of one
// yes-or-no covariate P is that of Pearson's chi-square without correction.
// Score limits need no estimate of the error at the maximum, where the
// likelihood may be flat. Rows are taken to be independent: opts.Cluster and
// opts.Dispersion are the caller's mistake.
//
// It returns the errors of FitLogistic. A limit that lies in no finite place is
// unbounded; one whose equation could not be met is NaN, with the warning
// limit-not-estimable.
//
// Cox DR, Hinkley DV. Theoretical Statistics. Chapman and Hall, 1974, section
// 9.3. Rao CR. Large sample tests of statistical hypotheses concerning several
// parameters. Proc Camb Phil Soc 1948;44:50-57.
func LogisticScore(x [][]float64, terms []string, y []bool, opts GLMOptions) ([]Estimate, error) {
	if opts.Cluster != nil || opts.Dispersion {
		panic("stats: score limits with clusters or dispersion")
	}
	var m *glm // of all columns, made once the fit has checked them
	// Half the statistic below the largest likelihood, so that twice the fall is
	// the statistic.
	return logisticLimits(x, terms, y, opts, "score limits", "score limits", func(f Fit, j int, at glmMaximum) float64 {
		if m == nil {
			outcome, _ := zeroOne(y)
			m, _ = newGLM(f.Model, "odds ratio", logistic{}, x, terms, outcome, make([]float64, len(y)), GLMOptions{})
		}
		s, ok := m.scoreOf(j, at.eta)
		if !ok {
			return math.Inf(-1)
		}
		return f.LogLik - s/2
	})
}

// scoreOf is the score statistic of one coefficient where the others are at
// their maximum; false where the information is singular.
func (m *glm) scoreOf(j int, eta []float64) (float64, bool) {
	gradient, information := m.score(eta)
	l, _, ok := cholesky(information, 1e-14)
	if !ok {
		return 0, false
	}
	return gradient[j] * gradient[j] * choleskyInverse(l)[j][j], true
}
