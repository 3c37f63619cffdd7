package stats

import (
	"fmt"
	"math"
	"slices"
)

// result lays out a solved equation.
func (g *gee) result(level float64, opts GEEOptions) (GEEFit, error) {
	p := len(g.terms) + 1
	f := GEEFit{Working: g.working, Correlation: g.alpha, Fit: Fit{
		Model: g.model + ", " + string(g.working) + " working correlation", Terms: slices.Concat([]string{Intercept}, g.terms),
		LogLik: math.NaN(), NullLogLik: math.NaN(), Deviance: math.NaN(), Dispersion: g.phi,
		DF: len(g.clusters) - p, N: len(g.y), Events: g.events, Clusters: len(g.clusters), Iterations: g.iterations,
		Robust: "robust (Liang-Zeger)", risk: riskLinkOf(g.family),
	}}
	if opts.BiasReduced {
		f.Robust = "robust, bias-reduced (Mancl-DeRouen)"
	}
	meat := newMatrix(p, p)
	for _, rows := range g.clusters {
		f.Largest = max(f.Largest, len(rows))
		u, err := g.clusterScore(rows, opts.BiasReduced)
		if err != nil {
			return GEEFit{}, fmt.Errorf("%s: %w", g.model, err)
		}
		for j := range p {
			for k := range j + 1 {
				meat[j][k] += float64(u[j] * u[k])
				meat[k][j] = meat[j][k]
			}
		}
	}
	_, model := g.unscale(g.beta, scaled(g.bread, g.phi))
	f.ModelSE = diagonalRoots(model)
	f.Coefficients, f.Covariance = g.unscale(g.beta, product(product(g.bread, meat), g.bread))
	f.SE = diagonalRoots(f.Covariance)
	if opts.StudentT {
		df := float64(len(g.clusters) - p)
		f.reference = fmt.Sprintf(", t on %g degrees of freedom (clusters less coefficients)", df)
		f.freedom = func([]float64) float64 { return df }
		f.RobustDF = slices.Repeat([]float64{df}, p)
	}
	for j, term := range g.terms {
		b, se := f.Coefficients[j+1], f.SE[j+1]
		half := f.critical(j+1, level) * se
		e := Estimate{
			Measure: g.measure, Term: term, Value: b, Lower: b - half, Upper: b + half, SE: se, Level: level,
			P: f.tail(j+1, b/se), Method: "Wald limits, " + f.Robust + f.reference,
		}
		if opts.Family != GEEGaussian {
			e.Value, e.Lower, e.Upper = math.Exp(e.Value), math.Exp(e.Lower), math.Exp(e.Upper)
		}
		f.Estimates = append(f.Estimates, e)
	}
	if p > 1 {
		slopes := make([]int, p-1)
		for j := range slopes {
			slopes[j] = j + 1
		}
		f.Tests = []Test{f.JointTest("Wald test", slopes)}
	}
	f.Warnings = clusterWarnings(f.Clusters)
	if opts.BiasReduced && opts.StudentT {
		f.Warnings = nil // they are for few clusters
	}
	if opts.Family == GEEBinomial && g.fewest < eventsPerCoefficient*(p-1) {
		f.Warnings = append(f.Warnings, Warning{"few-events", fmt.Sprintf(
			"%d events (or non-events, if fewer) and %d coefficients besides the intercept, fewer than %d each: ratios tend to be too far from 1 and limits too narrow.",
			g.fewest, p-1, eventsPerCoefficient)})
	}
	return f, nil
}

// clusterScore is DᵀV⁻¹ of a cluster times its residuals, which bias reduction
// first multiplies by (I − H)⁻¹, H = D B DᵀV⁻¹.
func (g *gee) clusterScore(rows []int, reduced bool) ([]float64, error) {
	p, m := len(g.terms)+1, len(rows)
	c := g.alpha / (1 + float64(m-1)*g.alpha)
	// In units of A^½: z the rows of A^½X, u the residuals, and w = R⁻¹z.
	z, w, u := newMatrix(m, p), newMatrix(m, p), make([]float64, m)
	sum := make([]float64, p)
	for a, i := range rows {
		residual, variance := g.family.mean(g.y[i], g.eta[i])
		root := math.Sqrt(variance)
		u[a] = residual / root
		for j, v := range g.x[i] {
			z[a][j] = root * v
			sum[j] += z[a][j]
		}
	}
	for a := range rows {
		for j := range p {
			w[a][j] = (z[a][j] - float64(c*sum[j])) / (1 - g.alpha)
		}
	}
	if reduced {
		// (I − z B wᵀ) v = u.
		system := newMatrix(m, m)
		for a := range m {
			zb := make([]float64, p)
			for j := range p {
				zb[j] = dot(g.bread[j], z[a])
			}
			for b := range m {
				system[a][b] = -dot(zb, w[b])
				if a == b {
					system[a][b]++
				}
			}
		}
		v, ok := solveDense(system, u)
		if !ok {
			return nil, fmt.Errorf("%w: one cluster alone determines a coefficient, which bias reduction does not bear", ErrTooFewClusters)
		}
		u = v
	}
	score := make([]float64, p)
	for a := range rows {
		for j := range p {
			score[j] += float64(w[a][j] * u[a])
		}
	}
	return score, nil
}

// product multiplies two square matrices.
func product(a, b [][]float64) [][]float64 {
	n := len(a)
	out := newMatrix(n, n)
	for i := range n {
		for j := range n {
			for k := range n {
				out[i][j] += float64(a[i][k] * b[k][j])
			}
		}
	}
	return out
}

// solveDense solves a x = b by elimination with pivots, or reports that a is
// singular.
func solveDense(a [][]float64, b []float64) ([]float64, bool) {
	n := len(b)
	x := slices.Clone(b)
	for k := range n {
		pivot := k
		for i := k; i < n; i++ {
			if math.Abs(a[i][k]) > math.Abs(a[pivot][k]) {
				pivot = i
			}
		}
		if math.Abs(a[pivot][k]) < 1e-10 {
			return nil, false
		}
		a[k], a[pivot], x[k], x[pivot] = a[pivot], a[k], x[pivot], x[k]
		for i := k + 1; i < n; i++ {
			by := a[i][k] / a[k][k]
			for j := k; j < n; j++ {
				a[i][j] -= float64(by * a[k][j])
			}
			x[i] -= float64(by * x[k])
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= float64(a[i][j] * x[j])
		}
		x[i] /= a[i][i]
	}
	return x, true
}
