package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrOriginTime says that a model of the logarithm of time was given an event
// at the origin or a time before it.
var ErrOriginTime = errors.New("a time that is not after the origin 0")

// EnteredIntervals are Intervals of rows that came under observation at Entry
// without the event; a nil Entry means at the origin 0. The event happened after
// Left and not after Right, exactly then where they are equal, and was not seen
// by Left where Right is +Inf. A Left of 0 is an event by Right of which no
// earlier visit tells.
type EnteredIntervals struct {
	Entry []float64
	Intervals
}

// Intervals are the times as rows of EnteredIntervals: exact where the event
// happened, unfinished otherwise.
func (t Times) Intervals() EnteredIntervals {
	right := slices.Clone(t.Exit)
	for i, event := range t.Status {
		if !event {
			right[i] = math.Inf(1)
		}
	}
	return EnteredIntervals{t.Entry, Intervals{t.Exit, right}}
}

// check panics on slices of unequal length and returns an error for rows that
// no model of log times can use.
func (v EnteredIntervals) check() error {
	n := len(v.Left)
	if v.Entry != nil && len(v.Entry) != n {
		panic(fmt.Sprintf("stats: %d left ends, %d entries", n, len(v.Entry)))
	}
	if err := v.Intervals.check(); err != nil {
		return err
	}
	var wrong, origin, early []int
	for i, l := range v.Left {
		last := v.Right[i]
		if math.IsInf(last, 1) {
			last = l
		}
		switch {
		case v.Entry != nil && !finite(v.Entry[i]):
			wrong = append(wrong, i)
		case l < 0 || v.Right[i] <= 0 || (v.Entry != nil && v.Entry[i] < 0):
			origin = append(origin, i)
		case v.Entry != nil && (l < v.Entry[i] || last <= v.Entry[i]):
			early = append(early, i)
		}
	}
	for _, f := range []struct {
		why  error
		rows []int
	}{{ErrNotFinite, wrong}, {ErrOriginTime, origin}, {ErrEntryAfterExit, early}} {
		if f.rows != nil {
			return fmt.Errorf("times: %w: %d of %d rows (%s)", f.why, len(f.rows), n, firstRows(f.rows))
		}
	}
	return nil
}

// A LifetimeDistribution is the distribution of time of a parametric model.
type LifetimeDistribution string

// Distributions of FitParametricSurvival.
const (
	Exponential LifetimeDistribution = "exponential"
	Weibull     LifetimeDistribution = "Weibull"
	LogNormal   LifetimeDistribution = "log-normal"
	LogLogistic LifetimeDistribution = "log-logistic"
)

// law is the distribution of the error of log time; d must be one of the above.
func (d LifetimeDistribution) law() lifetimeLaw {
	switch d {
	case Exponential, Weibull:
		return extremeValue{}
	case LogNormal:
		return normalLaw{}
	case LogLogistic:
		return logisticLaw{}
	}
	panic(fmt.Sprintf("stats: distribution %q, expected exponential, Weibull, log-normal or log-logistic", string(d)))
}

// ParametricOptions are the choices of FitParametricSurvival; the zero value is
// level 0.95, rows that all count once and model-based errors.
type ParametricOptions struct {
	Level   float64   // confidence level; 0 means 0.95
	Weights []float64 // case weight of each row, above 0; nil: 1 each
	Cluster []int     // cluster of each row, any numbers; nil: rows are independent
}

// LogScale is the name of the last coefficient of a model with a scale.
const LogScale = "log(scale)"

// A ParametricFit is a fitted model of time. Its coefficients are the
// intercept, those of the columns and, but for exponential times, the logarithm
// of the scale σ. Estimates are time ratios exp(b).
type ParametricFit struct {
	Fit
	Distribution LifetimeDistribution
	HazardRatios []Estimate // exp(−b/σ), for exponential and Weibull times; nil elsewhere
	Scale        Estimate   // σ; 1 without limits for exponential times
	Shape        Estimate   // 1/σ: Weibull's and the log-logistic shape
	AIC          float64    // −2 log likelihood + 2 parameters; NaN with Weights
	Exact        int        // rows with an exact time
	LeftCensored int        // rows with an event by Right and no earlier visit, nor late entry
	Interval     int        // rows with an event between two visits
	Unfinished   int        // rows never seen to have the event
}

// FitParametricSurvival fits the accelerated failure time model
//
//	log T = b_0 + x'b + σW
//
// by maximum likelihood, W of the standard smallest extreme value (Weibull
// times; exponential times with σ = 1), normal (log-normal) or logistic
// (log-logistic) distribution. x holds one row of covariates for each row of
// v, terms the names of its columns; there may be none. With S the probability
// of no event and f the density of time, a row contributes
//
//	exact time t                  f(t)
//	event in (l, r]               S(l) − S(r)
//	event by r, no earlier visit  1 − S(r)
//	none by l                     S(l)
//
// each divided by S(entry) where the row entered late. The density is of time
// in the caller's unit, so that log likelihoods and AIC of the four
// distributions compare. A row known of at the origin only says nothing, is left
// out and counted in the warning uninformative-rows.
//
// Estimates are time ratios exp(b): times are so many times as long for 1 more
// of x. HazardRatios, for exponential and Weibull times, are exp(−b/σ): there
// the model is also one of proportional hazards, h = h0 exp(−x'b/σ) with h0 the
// hazard at 0. Limits are Wald's on the log scale, that of the hazard ratio by
// the delta method.
//
// Newton's method with exact second derivatives runs on b/σ and 1/σ, in which
// the log likelihood is concave where nobody entered late (Burridge; Pratt). With
// late entry it need not be: the search starts from three scales, the best
// maximum counts, and the warning several-maxima says where they differ. The
// covariance is the inverse of the observed information in b and log σ.
// Weights multiply rows' log likelihoods; as in FitCox errors are then robust,
// and do not depend on the weights' unit. With Cluster the covariance is B M B
// without a factor for few clusters.
//
// Fit.Tests holds Wald's test that all coefficients of x are 0 and, without
// Weights and Cluster, the likelihood ratio test of it and for Weibull times that
// of shape 1, which is the exponential model.
//
// Visits, censoring and late entry are taken to tell nothing of the event. Fewer
// than 10 events per column give the warning few-events.
//
// It returns ErrNoData, ErrNotFinite, ErrEmptyInterval, ErrOriginTime,
// ErrEntryAfterExit or, for weights, ErrNotPositive for rows that cannot be
// used; ErrNoEvents where no row has an event; ErrTooFewRows; ErrCollinear naming
// a column that is constant or a combination of others; ErrNoVariance where the
// likelihood grows without bound as the scale goes to 0, as where all times are
// the same or columns tell them exactly, and where it keeps growing with the
// scale; ErrSeparation naming the terms whose coefficients would be infinite, as
// where a group has no event; ErrTooFewClusters; ErrNotConverged, also where late
// entry leaves the likelihood without a maximum.
//
// Kalbfleisch JD, Prentice RL. The Statistical Analysis of Failure Time Data,
// 2nd ed. Wiley, 2002, chapters 2 and 3. Lindsey JC, Ryan LM. Methods for
// interval-censored data. Stat Med 1998;17:219-238. Burridge J. A note on maximum
// likelihood estimation for regression models using grouped data. J R Stat Soc B
// 1981;43:41-45. Pratt JW. Concavity of the log likelihood. J Am Stat Assoc
// 1981;76:103-106.
func FitParametricSurvival(v EnteredIntervals, x [][]float64, terms []string, distribution LifetimeDistribution, opts ParametricOptions) (ParametricFit, error) {
	distribution.law()
	opts.Level = confidenceLevel(opts.Level)
	model := string(distribution) + " regression"
	if len(x) != len(v.Left) || (opts.Cluster != nil && len(opts.Cluster) != len(x)) || (opts.Weights != nil && len(opts.Weights) != len(x)) {
		panic(fmt.Sprintf("stats: %d times, %d rows of covariates, %d weights, %d cluster numbers", len(v.Left), len(x), len(opts.Weights), len(opts.Cluster)))
	}
	for i, row := range x {
		if len(row) != len(terms) {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), len(terms)))
		}
	}
	if err := v.check(); err != nil {
		return ParametricFit{}, fmt.Errorf("%s: %w", model, err)
	}
	if err := checkCovariates(x, terms); err != nil {
		return ParametricFit{}, fmt.Errorf("%s: %w", model, err)
	}
	if err := checkCoxRows(CoxOptions{Weights: opts.Weights}); err != nil {
		return ParametricFit{}, fmt.Errorf("%s: %w", model, err)
	}
	m, err := newParametric(v, x, terms, distribution, opts)
	if err != nil {
		return ParametricFit{}, err
	}
	if err := m.fit(); err != nil {
		return ParametricFit{}, err
	}
	return m.result(v, terms, opts)
}
