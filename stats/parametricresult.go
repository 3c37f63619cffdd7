package stats

import (
	"fmt"
	"math"
	"slices"
)

// transform takes θ to the caller's coefficients and log σ, and gives the
// derivatives of these by θ.
func (m *parametric) transform() (b []float64, jacobian [][]float64) {
	k, p, tau := len(m.theta), len(m.terms)+1, m.tau(m.theta)
	a := m.unscaling()
	b, jacobian = make([]float64, k), newMatrix(k, k)
	for i := range p {
		at := dot(a[i], m.theta[:p])
		b[i] = m.unit / tau * at
		for j := range p {
			jacobian[i][j] = m.unit / tau * a[i][j]
		}
		if m.scaled {
			jacobian[i][p] = -m.unit / (tau * tau) * at
		}
	}
	b[0] += m.middle
	if m.scaled {
		b[p] = math.Log(m.unit / tau)
		jacobian[p][p] = -1 / tau
	}
	return b, jacobian
}

// sandwiched is J V J'.
func sandwiched(j, v [][]float64) [][]float64 {
	k := len(j)
	half, out := newMatrix(k, k), newMatrix(k, k)
	for i := range k {
		for l := range k {
			half[i][l] = dot(j[i], v[l]) // V is symmetric
		}
	}
	for i := range k {
		for l := range i + 1 {
			out[i][l] = dot(half[i], j[l])
			out[l][i] = out[i][l]
		}
	}
	return out
}

// result lays out what came of the fit.
func (m *parametric) result(v EnteredIntervals, terms []string, opts ParametricOptions) (ParametricFit, error) {
	p, k := len(terms)+1, len(m.theta)
	l, _, ok := cholesky(m.information, 1e-14)
	if !ok {
		return ParametricFit{}, fmt.Errorf("%s: %w: the information is singular", m.model, ErrNotConverged)
	}
	bread := choleskyInverse(l)
	b, jacobian := m.transform()
	f := ParametricFit{Distribution: m.distribution, AIC: math.NaN(), Fit: Fit{
		Model: m.model, Terms: append([]string{Intercept}, terms...), Coefficients: b,
		Covariance: sandwiched(jacobian, bread), LogLik: m.value - m.log, NullLogLik: math.NaN(), Deviance: math.NaN(),
		Dispersion: 1, DF: len(m.ends) - k, N: len(v.Left), Events: m.events, Iterations: m.iterations,
	}}
	if m.scaled {
		f.Terms = append(f.Terms, LogScale)
	}
	f.ModelSE = diagonalRoots(f.Covariance)
	f.count(m)
	if err := m.robust(&f, bread, jacobian, opts); err != nil {
		return ParametricFit{}, fmt.Errorf("%s: %w", m.model, err)
	}
	f.SE = diagonalRoots(f.Covariance)
	f.estimates(opts.Level)
	if opts.Weights == nil {
		f.AIC = -2*f.LogLik + 2*float64(k)
	}
	m.tests(&f, v, opts)
	if m.events < eventsPerCoefficient*len(terms) {
		f.Warnings = append(f.Warnings, Warning{"few-events", fmt.Sprintf(
			"%d events and %d columns, fewer than %d events each: ratios tend to be too far from 1 and limits too narrow.",
			m.events, p-1, eventsPerCoefficient)})
	}
	if left := len(v.Left) - len(m.ends); left > 0 {
		f.Warnings = append(f.Warnings, Warning{"uninformative-rows", fmt.Sprintf(
			"%d of %d rows were observed at the origin only and say nothing: they are left out.", left, len(v.Left))})
	}
	if m.several {
		f.Warnings = append(f.Warnings, Warning{"several-maxima", "With late entry the likelihood has several maxima: the largest one found is given."})
	}
	return f, nil
}

// count tells the rows apart by what is known of their times.
func (f *ParametricFit) count(m *parametric) {
	for _, e := range m.ends {
		switch {
		case e.exact:
			f.Exact++
		case math.IsInf(e.right, 1):
			f.Unfinished++
		case math.IsInf(e.left, -1):
			f.LeftCensored++
		default:
			f.Interval++
		}
	}
}

// robust replaces the covariance where there are clusters or weights.
func (m *parametric) robust(f *ParametricFit, bread, jacobian [][]float64, opts ParametricOptions) error {
	if opts.Cluster == nil && opts.Weights == nil {
		return nil
	}
	cluster := make([]int, len(m.kept))
	for k, i := range m.kept {
		cluster[k] = i
		if opts.Cluster != nil {
			cluster[k] = opts.Cluster[i]
		}
	}
	f.Robust = clusterMethod(false)
	if opts.Cluster == nil {
		f.Robust = "robust, rows independent, uncorrected"
	}
	f.Clusters = countClusters(cluster)
	if k := len(m.theta); f.Clusters <= k {
		return fmt.Errorf("%w: found %d, expected more than the %d parameters", ErrTooFewClusters, f.Clusters, k)
	}
	v, err := clusterRobust(bread, m.lifetimeScores(), cluster, false)
	if err != nil {
		return err
	}
	f.Covariance = sandwiched(jacobian, v)
	f.Warnings = append(f.Warnings, clusterWarnings(f.Clusters)...)
	return nil
}

// logEstimate is exp(value) with Wald limits, value − null tested where test is.
func (f ParametricFit) logEstimate(measure, term string, value, se, level float64, method string) Estimate {
	half := criticalZ(level) * se
	return Estimate{
		Measure: measure, Term: term, Value: math.Exp(value), Lower: math.Exp(value - half), Upper: math.Exp(value + half),
		SE: se, Level: level, P: twoSidedNormalP(value / se), Method: method + ", " + f.errors(),
	}
}

// scale is σ.
func (f ParametricFit) scale() float64 {
	if f.Distribution == Exponential {
		return 1
	}
	return math.Exp(f.Coefficients[len(f.Coefficients)-1])
}

// spread is the standard error of a combination of the coefficients.
func (f ParametricFit) spread(combination []float64) float64 {
	sum := 0.0
	for i, c := range combination {
		sum += c * dot(f.Covariance[i], combination)
	}
	return math.Sqrt(math.Max(0, sum))
}

func (f *ParametricFit) estimates(level float64) {
	k := len(f.Coefficients)
	sigma := f.scale()
	columns := k - 1
	if f.Distribution != Exponential {
		columns--
	}
	for j := 1; j <= columns; j++ {
		f.Estimates = append(f.Estimates, f.logEstimate("time ratio", f.Terms[j], f.Coefficients[j], f.SE[j], level, "Wald limits"))
		if f.Distribution != Exponential && f.Distribution != Weibull {
			continue
		}
		c := make([]float64, k)
		c[j] = -1 / sigma
		if f.Distribution == Weibull {
			c[k-1] = f.Coefficients[j] / sigma
		}
		f.HazardRatios = append(f.HazardRatios, f.logEstimate("hazard ratio", f.Terms[j], -f.Coefficients[j]/sigma, f.spread(c), level, "Wald limits, delta method"))
	}
	if f.Distribution == Exponential {
		fixed := Estimate{Value: 1, Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(), P: math.NaN(), Level: level, Method: "fixed"}
		f.Scale, f.Shape = fixed, fixed
		f.Scale.Measure, f.Shape.Measure = "scale", "shape"
		return
	}
	f.Scale = f.logEstimate("scale", "", f.Coefficients[k-1], f.SE[k-1], level, "Wald limits on the log scale")
	f.Shape = f.logEstimate("shape", "", -f.Coefficients[k-1], f.SE[k-1], level, "Wald limits on the log scale")
}

// tests makes those of the model's columns and of the exponential distribution.
func (m *parametric) tests(f *ParametricFit, v EnteredIntervals, opts ParametricOptions) {
	columns := len(m.terms)
	independent := opts.Cluster == nil && opts.Weights == nil
	if columns == 0 {
		f.NullLogLik = f.LogLik
	} else {
		if null, ok := m.without(v, false, m.distribution, opts); ok {
			f.NullLogLik = null
		}
		if independent {
			f.Tests = append(f.Tests, ratioTest("likelihood ratio test", f.LogLik, f.NullLogLik, columns))
		}
		slopes := make([]int, columns)
		for j := range slopes {
			slopes[j] = j + 1
		}
		f.Tests = append(f.Tests, f.JointTest("Wald test", slopes))
	}
	if independent && m.distribution == Weibull {
		if simpler, ok := m.without(v, true, Exponential, opts); ok {
			f.Tests = append(f.Tests, ratioTest("likelihood ratio test of shape 1", f.LogLik, simpler, 1))
		}
	}
}

// without is the log likelihood of a smaller model of the same rows.
func (m *parametric) without(v EnteredIntervals, columns bool, distribution LifetimeDistribution, opts ParametricOptions) (float64, bool) {
	x, terms := make([][]float64, len(v.Left)), []string(nil)
	for i := range x {
		x[i] = []float64{}
	}
	if columns {
		terms = m.terms
		for k, i := range m.kept {
			row := make([]float64, len(terms))
			for j := range row {
				row[j] = m.x[k][j+1]
			}
			x[i] = row
		}
	}
	small, err := newParametric(v, x, slices.Clone(terms), distribution, opts)
	if err != nil || small.fit() != nil {
		return math.NaN(), false
	}
	return small.value - small.log, true
}

// ratioTest is the likelihood ratio test of a model within another.
func ratioTest(name string, logLik, smaller float64, df int) Test {
	t := Test{Name: name, Statistic: math.NaN(), DF: float64(df), P: math.NaN(), Method: "chi-squared, model-based"}
	if math.IsNaN(smaller) {
		t.Warnings = []Warning{{"no-smaller-model", "The smaller model has no estimate, so that there is no test."}}
		return t
	}
	t.Statistic = math.Max(0, 2*(logLik-smaller))
	t.P = chiSquaredTail(t.Statistic, t.DF)
	return t
}
