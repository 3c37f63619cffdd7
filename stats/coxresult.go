package stats

import (
	"fmt"
	"math"
	"slices"
)

// A coxFit is a model at its maximum, on the scaled columns and weights.
type coxFit struct {
	model   *coxModel
	at      coxMaximum
	cluster []int // of each row given; nil: rows are independent
	// Of each row given; nil as in CoxOptions.
	strata          []int
	weights, offset []float64
}

// result turns a maximum, on the scaled columns and weights, into a Fit on the
// caller's.
func (m *coxModel) result(best coxMaximum, terms []string, opts CoxOptions) (Fit, error) {
	p := len(terms)
	f := Fit{
		Model:        "Cox proportional hazards regression",
		Terms:        slices.Clone(terms),
		Coefficients: make([]float64, p),
		LogLik:       m.rescaled(best.logLik),
		NullLogLik:   m.rescaled(best.nullLogLik),
		Deviance:     math.NaN(),
		Dispersion:   1,
		DF:           p,
		N:            m.rows,
		Events:       m.events,
		Iterations:   best.iterations,
		Ties:         opts.Ties,
		cox:          &coxFit{m, best, slices.Clone(opts.Cluster), slices.Clone(opts.Strata), slices.Clone(opts.Weights), slices.Clone(opts.Offset)},
	}
	if opts.Strata != nil {
		f.Strata = len(m.strata)
	}
	for j := range p {
		f.Coefficients[j] = best.beta[j] / m.scale[j]
	}
	f.Covariance = scaled(m.unscale(best.covariance), 1/m.unit)
	f.ModelSE = diagonalRoots(f.Covariance)
	if opts.Cluster != nil || opts.Weights != nil {
		if err := m.robust(&f, best, opts); err != nil {
			return Fit{}, fmt.Errorf("cox model: %w", err)
		}
	}
	f.SE = diagonalRoots(f.Covariance)
	f.Tests = m.tests(best, f, opts)
	f.Estimates = m.ratios(f, "hazard ratio", opts.Level)
	f.Warnings = append(f.Warnings, m.fewEvents(len(m.scale))...)
	return f, nil
}

// ratios are the exponentiated coefficients of a fit with their limits.
func (m *coxModel) ratios(f Fit, measure string, level float64) []Estimate {
	method := "Wald limits, " + tiesName(m.ties) + " ties, " + f.errors()
	z := criticalZ(level)
	var out []Estimate
	for j, b := range f.Coefficients {
		out = append(out, Estimate{
			Measure: measure,
			Term:    f.Terms[j],
			Value:   math.Exp(b),
			Lower:   math.Exp(b - float64(z*f.SE[j])),
			Upper:   math.Exp(b + float64(z*f.SE[j])),
			SE:      f.SE[j],
			Level:   level,
			P:       twoSidedNormalP(b / f.SE[j]),
			Method:  method,
		})
	}
	return out
}

// fewEvents doubts a model of p coefficients.
func (m *coxModel) fewEvents(p int) []Warning {
	if m.events >= eventsPerCoefficient*p {
		return nil
	}
	return []Warning{{"few-events", fmt.Sprintf(
		"%d events and %d coefficients in the model, fewer than %d events each: ratios tend to be too far from 1 and limits too narrow.",
		m.events, p, eventsPerCoefficient)}}
}

// robust replaces the covariance by the robust one. Weights drop out of it:
// the scores grow with them as the information does.
func (m *coxModel) robust(f *Fit, best coxMaximum, opts CoxOptions) error {
	cluster := opts.Cluster
	f.Robust = clusterMethod(false)
	if cluster == nil {
		cluster = make([]int, m.rows)
		for i := range cluster {
			cluster[i] = i
		}
		f.Robust = "robust, rows independent, uncorrected"
	}
	f.Clusters = countClusters(cluster)
	if p := len(f.Terms); f.Clusters <= p {
		return fmt.Errorf("%w: found %d, expected more than the %d coefficients", ErrTooFewClusters, f.Clusters, p)
	}
	v, err := clusterRobust(best.covariance, m.scoreResiduals(best.beta), cluster, false)
	if err != nil {
		return err
	}
	f.Covariance = m.unscale(v)
	f.Warnings = append(f.Warnings, clusterWarnings(f.Clusters)...)
	return nil
}

// tests makes the three tests that all coefficients are 0.
func (m *coxModel) tests(best coxMaximum, f Fit, opts CoxOptions) []Test {
	indices := make([]int, len(f.Terms))
	for j := range indices {
		indices[j] = j
	}
	p := float64(len(indices))
	modelBased := func(name string, statistic float64) Test {
		t := Test{Name: name, Statistic: statistic, DF: p, P: chiSquaredTail(statistic, p), Method: "chi-squared, model-based"}
		if opts.Cluster != nil {
			t.Warnings = append(t.Warnings, Warning{
				"assumes-independence",
				"This test takes rows to be independent; with clusters use Wald's.",
			})
		}
		if opts.Weights != nil {
			t.Warnings = append(t.Warnings, Warning{
				"assumes-counts",
				"This test takes a weight to be a number of equal rows; for other weights use Wald's.",
			})
		}
		return t
	}
	return []Test{
		modelBased("likelihood ratio test", math.Max(0, 2*(f.LogLik-f.NullLogLik))),
		f.JointTest("Wald test", indices),
		modelBased("score test", m.unit*best.score),
	}
}

func tiesName(ties string) string {
	switch ties {
	case TiesBreslow:
		return "Breslow"
	case TiesExact:
		return "exact"
	}
	return "Efron"
}

func diagonalRoots(a [][]float64) []float64 {
	roots := make([]float64, len(a))
	for i := range a {
		roots[i] = math.Sqrt(a[i][i])
	}
	return roots
}
