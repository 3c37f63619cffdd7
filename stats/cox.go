package stats

import (
	"fmt"
	"math"
	"slices"
)

// Handling of tied events in a Cox model.
const (
	TiesEfron   = "efron"
	TiesBreslow = "breslow"
)

// CoxOptions are the choices of FitCox; the zero value is Efron ties, level
// 0.95 and model-based errors.
type CoxOptions struct {
	Ties          string  // TiesEfron (the meaning of "") or TiesBreslow
	Level         float64 // confidence level; 0 means 0.95
	Cluster       []int   // cluster of each row, any numbers; nil: rows are independent
	MaxIterations int     // of Newton's method; 0 means 50
}

func (o CoxOptions) resolve() CoxOptions {
	o.Level = confidenceLevel(o.Level)
	if o.MaxIterations == 0 {
		o.MaxIterations = defaultCoxIterations
	}
	switch o.Ties {
	case "":
		o.Ties = TiesEfron
	case TiesEfron, TiesBreslow:
	default:
		panic(fmt.Sprintf("stats: ties %q, expected efron or breslow", o.Ties))
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
//
// which are the same without ties. It is maximised by Newton's method with
// step halving on columns centred and scaled; neither changes the estimate.
//
// Estimates are hazard ratios exp(b) with limits exp(b ± z SE) and the P value
// of Wald's test. Fit.Tests holds the likelihood ratio, Wald and score tests
// that all coefficients are 0. With Cluster, SE, limits and Wald's test use the
// robust covariance B M B, B the inverse information and M the sum over
// clusters of the outer product of the summed score residuals, with no factor
// for few clusters (CR0; Lin and Wei); likelihood ratio and score test stay
// model-based.
//
// Censoring and late entry are assumed to tell nothing about the event, and
// ratios of hazards to be constant in time. Fewer than 10 events per
// coefficient give the warning few-events, few clusters the warning
// few-clusters.
//
// It returns ErrNoData, ErrEntryAfterExit or ErrNotFinite for rows that cannot
// be used; ErrNoEvents; ErrCollinear naming a column that is constant or a
// combination of others within the risk sets; ErrSeparation naming the terms
// whose coefficient would be infinite; ErrTooFewClusters where clusters are not
// more than coefficients, when robust errors collapse; ErrNotConverged.
//
// Cox DR. Regression models and life-tables. J R Stat Soc B 1972;34:187-220.
// Efron B. The efficiency of Cox's likelihood function for censored data. J Am
// Stat Assoc 1977;72:557-565. Breslow N. Covariance analysis of censored
// survival data. Biometrics 1974;30:89-99. Lin DY, Wei LJ. The robust inference
// for the Cox proportional hazards model. J Am Stat Assoc 1989;84:1074-1078.
func FitCox(t Times, x [][]float64, terms []string, opts CoxOptions) (Fit, error) {
	opts = opts.resolve()
	checkCoxShape(t, x, terms, opts)
	if err := t.check(); err != nil {
		return Fit{}, fmt.Errorf("cox model: %w", err)
	}
	if err := checkCovariates(x, terms); err != nil {
		return Fit{}, fmt.Errorf("cox model: %w", err)
	}
	if !slices.Contains(t.Status, true) {
		return Fit{}, fmt.Errorf("cox model of %d rows: %w", len(x), ErrNoEvents)
	}
	m := newCoxModel(t, x, opts.Ties)
	if err := m.checkColumns(terms); err != nil {
		return Fit{}, fmt.Errorf("cox model: %w", err)
	}
	fit := m.maximise(opts.MaxIterations)
	probe := fit
	if !fit.converged && opts.MaxIterations < defaultCoxIterations {
		probe = m.maximise(defaultCoxIterations) // only to tell why
	}
	if names := m.separated(probe, terms); len(names) > 0 {
		return Fit{}, fmt.Errorf("cox model: %w: the likelihood keeps rising as the coefficient of %s grows without bound (%d events)",
			ErrSeparation, quotedList(names), m.events)
	}
	if !fit.converged {
		return Fit{}, fmt.Errorf("cox model: %w after %d iterations", ErrNotConverged, fit.iterations)
	}
	return m.result(fit, terms, opts)
}

func checkCoxShape(t Times, x [][]float64, terms []string, opts CoxOptions) {
	if len(x) != len(t.Exit) || (opts.Cluster != nil && len(opts.Cluster) != len(x)) {
		panic(fmt.Sprintf("stats: %d times, %d rows of covariates, %d clusters", len(t.Exit), len(x), len(opts.Cluster)))
	}
	if len(terms) == 0 {
		panic("stats: a Cox model without covariates")
	}
	for i, row := range x {
		if len(row) != len(terms) {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), len(terms)))
		}
	}
}

func checkCovariates(x [][]float64, terms []string) error {
	for j, term := range terms {
		var wrong []int
		for i, row := range x {
			if !finite(row[j]) {
				wrong = append(wrong, i)
			}
		}
		if wrong != nil {
			return fmt.Errorf("term %q: %w: %d of %d rows (%s)", term, ErrNotFinite, len(wrong), len(x), firstRows(wrong))
		}
	}
	return nil
}

// result turns a maximum, on the scaled columns, into a Fit on the caller's.
func (m *coxModel) result(best coxMaximum, terms []string, opts CoxOptions) (Fit, error) {
	p := len(terms)
	f := Fit{
		Model:        "Cox proportional hazards regression",
		Terms:        slices.Clone(terms),
		Coefficients: make([]float64, p),
		LogLik:       best.logLik,
		NullLogLik:   best.nullLogLik,
		Deviance:     math.NaN(),
		Dispersion:   1,
		DF:           p,
		N:            m.rows,
		Events:       m.events,
		Iterations:   best.iterations,
		Ties:         opts.Ties,
	}
	for j := range p {
		f.Coefficients[j] = best.beta[j] / m.scale[j]
	}
	f.Covariance = m.unscale(best.covariance)
	f.ModelSE = diagonalRoots(f.Covariance)
	method := "Wald limits, " + tiesName(opts.Ties) + " ties, "
	errors := "model-based"
	if opts.Cluster != nil {
		f.Clusters = countClusters(opts.Cluster)
		if f.Clusters <= p {
			return Fit{}, fmt.Errorf("cox model: %w: found %d, expected more than the %d coefficients", ErrTooFewClusters, f.Clusters, p)
		}
		robust, err := clusterRobust(best.covariance, m.scoreResiduals(best.beta), opts.Cluster, false)
		if err != nil {
			return Fit{}, fmt.Errorf("cox model: %w", err)
		}
		f.Covariance = m.unscale(robust)
		f.Robust = clusterMethod(false)
		errors = f.Robust
		f.Warnings = append(f.Warnings, clusterWarnings(f.Clusters)...)
	}
	f.SE = diagonalRoots(f.Covariance)
	f.Tests = m.tests(best, f, errors)
	z := criticalZ(opts.Level)
	for j, b := range f.Coefficients {
		f.Estimates = append(f.Estimates, Estimate{
			Measure: "hazard ratio",
			Term:    terms[j],
			Value:   math.Exp(b),
			Lower:   math.Exp(b - float64(z*f.SE[j])),
			Upper:   math.Exp(b + float64(z*f.SE[j])),
			SE:      f.SE[j],
			Level:   opts.Level,
			P:       twoSidedNormalP(b / f.SE[j]),
			Method:  method + errors,
		})
	}
	if m.events < eventsPerCoefficient*p {
		f.Warnings = append(f.Warnings, Warning{"few-events", fmt.Sprintf(
			"%d events and %d coefficients in the model, fewer than %d events each: ratios tend to be too far from 1 and limits too narrow.",
			m.events, p, eventsPerCoefficient)})
	}
	return f, nil
}

// tests makes the three tests that all coefficients are 0.
func (m *coxModel) tests(best coxMaximum, f Fit, errors string) []Test {
	p := float64(len(best.beta))
	make := func(name string, statistic float64, method string) Test {
		return Test{Name: name, Statistic: statistic, DF: p, P: chiSquaredTail(statistic, p), Method: method}
	}
	wald := math.NaN()
	if l, _, ok := cholesky(f.Covariance, 1e-10); ok {
		wald = dot(f.Coefficients, choleskySolve(l, f.Coefficients))
	}
	tests := []Test{
		make("likelihood ratio test", math.Max(0, 2*(best.logLik-best.nullLogLik)), "chi-squared, model-based"),
		make("Wald test", wald, "chi-squared, "+errors),
		make("score test", best.score, "chi-squared, model-based"),
	}
	if f.Clusters == 0 {
		return tests
	}
	for i := range tests {
		switch {
		case i != 1:
			tests[i].Warnings = []Warning{{
				"assumes-independence",
				"This test takes rows to be independent; with clusters use Wald's.",
			}}
		case math.IsNaN(wald):
			tests[i].Warnings = []Warning{{"singular-covariance", fmt.Sprintf(
				"%d clusters leave the robust covariance of %d coefficients singular.", f.Clusters, len(best.beta))}}
		}
	}
	return tests
}

func tiesName(ties string) string {
	if ties == TiesBreslow {
		return "Breslow"
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
