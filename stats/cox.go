package stats

import (
	"fmt"
	"slices"
)

// Handling of tied events in a Cox model.
const (
	TiesEfron   = "efron"
	TiesBreslow = "breslow"
	TiesExact   = "exact" // the discrete conditional likelihood
)

// CoxOptions are the choices of FitCox; the zero value is Efron ties, level
// 0.95, one baseline hazard, rows that all count once and model-based errors.
type CoxOptions struct {
	Ties          string    // TiesEfron (the meaning of ""), TiesBreslow or TiesExact
	Level         float64   // confidence level; 0 means 0.95
	Strata        []int     // stratum of each row, any numbers, each with its own baseline hazard; nil: one
	Weights       []float64 // case weight of each row, above 0; nil: 1 each
	Offset        []float64 // added to each row's x'b, with coefficient 1; nil: 0
	Cluster       []int     // cluster of each row, any numbers; nil: rows are independent
	MaxIterations int       // of Newton's method; 0 means 50
}

func (o CoxOptions) resolve() CoxOptions {
	o.Level = confidenceLevel(o.Level)
	if o.MaxIterations == 0 {
		o.MaxIterations = defaultCoxIterations
	}
	switch o.Ties {
	case "":
		o.Ties = TiesEfron
	case TiesEfron, TiesBreslow, TiesExact:
	default:
		panic(fmt.Sprintf("stats: ties %q, expected efron, breslow or exact", o.Ties))
	}
	return o
}

// defaultCoxIterations lets a monotone likelihood, where each iteration divides
// what is left to gain by e, run until it is flat and can be recognised.
const defaultCoxIterations = 50

// eventsPerCoefficient is the number of events per coefficient below which a
// Cox model is doubted.
const eventsPerCoefficient = 10

// FitCox fits the proportional hazards model h(t|x) = h0(t) exp(x'b) by
// maximum partial likelihood. x holds one row of covariates for each row of t,
// terms the names of its columns. With R(t) the rows at risk, Entry < t <=
// Exit, D(t) the d events at t and w = exp(x'b), the log partial likelihood is
// the sum over event times of
//
//	Breslow  sum over D of x'b - d log(sum over R of w)
//	Efron    sum over D of x'b - sum for k = 0..d-1 of
//	         log(sum over R of w - k/d sum over D of w)
//	exact    sum over D of x'b - log(sum over all S of d rows of R of the
//	         product over S of w)
//
// which are the same without ties. The last is the exact conditional
// likelihood of the model in discrete time (Cox 1972), where exp(b) is an odds
// ratio of the event at a time; it is not the average over the orders of tied
// events in continuous time. It is maximised by Newton's method with step
// halving on columns centred and scaled; neither changes the estimate.
//
// With Strata each stratum has its own h0 and its own risk sets, and the
// coefficients are common. Offset is added to x'b: a number that is the same
// for a whole stratum changes nothing.
//
// A weight c multiplies the row's w and its part of the sums over D; Breslow's
// d is then the sum of the weights of D, and each of Efron's logarithms counts
// with their mean. With Breslow's ties a row of weight 2 is the row given twice
// (Efron's ties see two tied events in one and not in the other). Weights are
// commonly not numbers of rows but sampling or inverse probability weights, for
// which the inverse information is no variance: with Weights the errors are the
// robust ones, rows being independent unless Cluster says otherwise, and they
// do not depend on the weights' unit. ModelSE, log likelihoods, likelihood
// ratio and score test hold for weights that are numbers of equal rows. Weights
// are taken as known.
//
// Estimates are hazard ratios exp(b) with limits exp(b ± z SE) and the P value
// of Wald's test. Fit.Tests holds the likelihood ratio, Wald and score tests
// that all coefficients are 0. With Cluster, SE, limits and Wald's test use the
// robust covariance B M B, B the inverse information and M the sum over
// clusters of the outer product of the summed score residuals, with no factor
// for few clusters (CR0; Lin and Wei); likelihood ratio and score test stay
// model-based. A cluster may have rows in several strata.
//
// Censoring and late entry are assumed to tell nothing about the event, and
// ratios of hazards to be constant in time. Fewer than 10 events per
// coefficient give the warning few-events, few clusters the warning
// few-clusters.
//
// It returns ErrNoData, ErrEntryAfterExit, ErrNotFinite or, for weights,
// ErrNotPositive for rows that cannot be used, ErrNotFinite also for weights or
// offsets hundreds of orders of magnitude apart; ErrNoEvents; ErrCollinear naming
// a column that is constant or a combination of others within the risk sets;
// ErrSeparation naming the terms whose coefficient would be infinite, for which
// FitFirthCox has finite estimates;
// ErrTooFewClusters where clusters are not more than coefficients, when robust
// errors collapse; ErrTooLarge where the exact likelihood of n rows at risk
// with d events, for p coefficients, would take more than 5e8 multiplications
// an evaluation, the sum of n (1 + min(d, n-d)) (1 + p + p(p+1)/2) over tied
// times; ErrNotConverged. Exact ties have no score residuals and go with
// neither Weights nor Cluster: asking for both is the caller's mistake.
//
// Cox DR. Regression models and life-tables. J R Stat Soc B 1972;34:187-220.
// Efron B. The efficiency of Cox's likelihood function for censored data. J Am
// Stat Assoc 1977;72:557-565. Breslow N. Covariance analysis of censored
// survival data. Biometrics 1974;30:89-99. Lin DY, Wei LJ. The robust inference
// for the Cox proportional hazards model. J Am Stat Assoc 1989;84:1074-1078.
// Gail MH, Lubin JH, Rubinstein LV. Likelihood calculations for matched
// case-control studies and survival studies with tied death times. Biometrika
// 1981;68:703-707. Binder DA. Fitting Cox's proportional hazards models from
// survey data. Biometrika 1992;79:139-147 (weights).
func FitCox(t Times, x [][]float64, terms []string, opts CoxOptions) (Fit, error) {
	opts = opts.resolve()
	m, err := prepareCox("cox model", t, x, terms, opts)
	if err != nil {
		return Fit{}, err
	}
	fit, err := m.finite(opts.MaxIterations, terms, "events")
	if err != nil {
		return Fit{}, fmt.Errorf("cox model: %w", err)
	}
	return m.result(fit, terms, opts)
}

// prepareCox checks the rows and sorts them; name is the model's in errors.
func prepareCox(name string, t Times, x [][]float64, terms []string, opts CoxOptions) (*coxModel, error) {
	checkCoxShape(t, x, terms, opts)
	if err := t.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := checkCovariates(x, terms); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if err := checkCoxRows(opts); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if !slices.Contains(t.Status, true) {
		return nil, fmt.Errorf("%s of %d rows: %w", name, len(x), ErrNoEvents)
	}
	m := newCoxModel(t, x, opts)
	if opts.Ties == TiesExact {
		if err := m.checkExact(); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
	}
	if err := m.checkColumns(terms); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return m, nil
}
