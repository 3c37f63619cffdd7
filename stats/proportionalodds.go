package stats

import (
	"fmt"
	"math"
	"slices"
)

// OrdinalOptions are the choices of FitProportionalOdds; the zero value is level
// 0.95 and model-based errors.
type OrdinalOptions struct {
	Level float64 // confidence level; 0 means 0.95

	// Cluster numbers the cluster of each row (any numbers), for robust errors
	// with the factor G/(G−1) for G clusters; nil means that rows are
	// independent.
	Cluster []int
	// Uncorrected leaves out that factor.
	Uncorrected bool
}

// An OrdinalFit is a fitted proportional odds model. The first coefficients are
// the cut points, named "up to" their level, the others those of the covariates.
type OrdinalFit struct {
	Fit
	Levels []string // from lowest to highest
	Counts []int    // rows at each
}

// FitProportionalOdds fits the proportional odds model of an outcome of ordered
// levels 0, 1, ..., J−1, such as grades of pain, by maximum likelihood:
//
//	logit P(y ≤ j) = θ_j − x'b    j = 0, ..., J−2
//
// x holds one row of covariates for each outcome, terms the names of its columns
// and levels those of the outcome's, from lowest to highest. The cut points
// θ_0 < θ_1 < ... come first among the coefficients. Newton's method runs until
// the linear predictors stand still to nine digits; the log likelihood is concave
// (Pratt). With two levels it is the logistic regression of the higher one.
//
// Estimates are odds ratios exp(b) of being above any level, the same for all,
// with Wald limits exp(b ± z SE): above 1 means that higher levels grow likelier
// with x. The covariance is the inverse of the observed information, or with
// Cluster robust. Fit.Tests holds, for independent rows, the likelihood ratio
// test that all coefficients of x are 0 and, with three levels or more, the
// score test of proportional odds: that the J−1 logistic regressions of y > j
// have the same slopes, against slopes of their own,
//
//	S'I⁻¹S on (J−2) p degrees of freedom for p columns
//
// with S the score of the larger model at the estimates of this one and I its
// expected information there; some programs take the observed one, which need not
// be positive definite and gives other values in small samples. P tends to be
// too small for sparse levels (Peterson and Harrell); where I is singular it is NaN with the warning
// singular-information, and the larger model need not have estimates for it to
// exist. With a group's indicators as the covariates it is Pearson's chi-square
// of the table against the counts the model expects. The Wald test of all slopes
// is there always.
//
// It returns ErrNoData, also for a level without rows (join it to its
// neighbour); ErrNoVariance where fewer than two levels are given;
// ErrTooFewRows; ErrNotFinite; ErrCollinear naming a column that is constant or a
// combination of others; ErrSeparation naming the terms whose coefficients would
// be infinite; ErrTooFewClusters; ErrNotConverged. A level outside of levels is
// the caller's mistake. Few rows outside the largest level give the warning
// few-events; few clusters few-clusters.
//
// McCullagh P. Regression models for ordinal data. J R Stat Soc B
// 1980;42:109-142. Peterson B, Harrell FE. Partial proportional odds models for
// ordinal response variables. Appl Stat 1990;39:205-217. Pratt JW. Concavity of
// the log likelihood. J Am Stat Assoc 1981;76:103-106.
func FitProportionalOdds(x [][]float64, terms []string, y []int, levels []string, opts OrdinalOptions) (OrdinalFit, error) {
	const model = "proportional odds regression"
	outcome := make([]float64, len(y))
	counts := make([]int, len(levels))
	for i, k := range y {
		if k < 0 || k >= len(levels) {
			panic(fmt.Sprintf("stats: outcome %d of row %d, expected 0 to %d", k, i+1, len(levels)-1))
		}
		outcome[i] = float64(k)
		counts[k]++
	}
	m, err := newGLM(model, "odds ratio", nil, x, terms, outcome, nil, GLMOptions{Cluster: opts.Cluster})
	if err != nil {
		return OrdinalFit{}, err
	}
	if len(levels) < 2 {
		return OrdinalFit{}, fmt.Errorf("%s: %w: %d levels", model, ErrNoVariance, len(levels))
	}
	if k := slices.Index(counts, 0); k >= 0 {
		return OrdinalFit{}, fmt.Errorf("%s: %w at level %q, which is to be joined to its neighbour or left out", model, ErrNoData, levels[k])
	}
	if coefficients := len(levels) - 1 + len(terms); len(y) < coefficients {
		return OrdinalFit{}, fmt.Errorf("%s: %w: found %d, expected at least the %d coefficients", model, ErrTooFewRows, len(y), coefficients)
	}
	o := &ordinal{glm: m, level: y, cuts: len(levels) - 1}
	o.start(counts)
	if err := o.maximise(); err != nil {
		return OrdinalFit{}, err
	}
	return o.result(levels, counts, opts)
}

// result lays out what came of the fit.
func (o *ordinal) result(levels []string, counts []int, opts OrdinalOptions) (OrdinalFit, error) {
	level, p, n := confidenceLevel(opts.Level), len(o.beta), len(o.level)
	f := OrdinalFit{Levels: slices.Clone(levels), Counts: counts, Fit: Fit{
		Model: o.model, LogLik: o.logLik(o.beta), Deviance: math.NaN(), Dispersion: 1, DF: n - p, N: n, Iterations: o.iterations,
	}}
	for _, name := range levels[:o.cuts] {
		f.Terms = append(f.Terms, "up to "+name)
	}
	f.Terms = append(f.Terms, o.terms...)
	for _, c := range counts {
		f.NullLogLik += float64(c) * math.Log(float64(c)/float64(n))
	}
	_, information := o.derivatives(o.beta)
	l, _, ok := cholesky(information, 1e-14)
	if !ok {
		return OrdinalFit{}, fmt.Errorf("%s: %w: the information is singular after %d iterations", o.model, ErrNotConverged, o.iterations)
	}
	bread := choleskyInverse(l)
	f.Coefficients, f.Covariance = o.unscale(o.beta, bread)
	f.ModelSE = diagonalRoots(f.Covariance)
	method := "model-based"
	if opts.Cluster != nil {
		v, err := clusterRobust(bread, o.rowScores(), opts.Cluster, !opts.Uncorrected)
		if err != nil {
			return OrdinalFit{}, fmt.Errorf("%s: %w", o.model, err)
		}
		_, f.Covariance = o.unscale(o.beta, v)
		f.Clusters, f.Robust = countClusters(opts.Cluster), clusterMethod(!opts.Uncorrected)
		f.Warnings, method = clusterWarnings(f.Clusters), f.Robust
	}
	f.SE = diagonalRoots(f.Covariance)
	slopes := make([]int, len(o.terms))
	for j, term := range o.terms {
		at := o.cuts + j
		slopes[j] = at
		b, se := f.Coefficients[at], f.SE[at]
		half := criticalZ(level) * se
		f.Estimates = append(f.Estimates, Estimate{
			Measure: o.measure, Term: term, Value: math.Exp(b), Lower: math.Exp(b - half), Upper: math.Exp(b + half),
			SE: se, Level: level, P: twoSidedNormalP(b / se), Method: "Wald limits, " + method,
		})
	}
	if len(slopes) > 0 {
		if opts.Cluster == nil {
			statistic := math.Max(0, 2*(f.LogLik-f.NullLogLik))
			f.Tests = append(f.Tests, Test{
				Name: "likelihood ratio test", Statistic: statistic, DF: float64(len(slopes)),
				P: chiSquaredTail(statistic, float64(len(slopes))), Method: "chi-squared, model-based",
			})
		}
		f.Tests = append(f.Tests, f.JointTest("Wald test", slopes))
		if opts.Cluster == nil && o.cuts > 1 {
			f.Tests = append(f.Tests, o.proportionalityTest())
		}
	}
	if few := n - slices.Max(counts); few < eventsPerCoefficient*len(slopes) {
		f.Warnings = append(f.Warnings, Warning{"few-events", fmt.Sprintf(
			"%d rows outside the largest level and %d coefficients besides the cut points, fewer than %d each: ratios tend to be too far from 1 and limits too narrow.",
			few, len(slopes), eventsPerCoefficient)})
	}
	return f, nil
}
