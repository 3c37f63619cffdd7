package stats

import (
	"fmt"
	"math"
	"slices"
)

// A LinearFit is a fitted linear regression: Fit.Estimates are the coefficients
// themselves.
type LinearFit struct {
	Fit
	ResidualSD float64
	RSquared   float64
}

// FitLinear fits y = b0 + x'b by least squares. x holds one row of covariates
// for each outcome, terms the names of its columns; the function adds the
// intercept as the first coefficient. The normal equations are solved on columns
// centred and scaled to one deviation, from the mean of the outcomes, so that
// columns of very different size and mean cost few digits.
//
// Limits are by Student's t on the rows less the coefficients, and errors take
// residuals to be independent with one variance. With opts.Cluster errors are
// robust as for FitLogistic, with the distribution of opts.Reference.
//
// It returns ErrNoData; ErrTooFewRows where rows are not more than coefficients;
// ErrNotFinite; ErrNoVariance where all outcomes are the same or the residuals
// vanish; ErrCollinear naming a column that is constant or a combination of
// others; ErrTooFewClusters. opts.Dispersion is the caller's mistake.
//
// Draper NR, Smith H. Applied Regression Analysis, 2nd ed. Wiley, 1981.
func FitLinear(x [][]float64, terms []string, y []float64, opts GLMOptions) (LinearFit, error) {
	const model = "linear regression"
	if opts.Dispersion {
		panic("stats: a linear regression with dispersion")
	}
	for i, v := range y {
		if !finite(v) {
			return LinearFit{}, fmt.Errorf("%s: outcome: %w: row %d", model, ErrNotFinite, i+1)
		}
	}
	// The outcome from its mean: large numbers do not cancel then.
	centre := 0.0
	if len(y) > 0 {
		centre, _ = meanSD(y)
	}
	from := make([]float64, len(y))
	for i, v := range y {
		from[i] = v - centre
	}
	m, err := newGLM(model, "coefficient", gaussian{}, x, terms, from, make([]float64, len(y)), opts)
	if err != nil {
		return LinearFit{}, err
	}
	p, n := len(terms)+1, len(y)
	if n <= p {
		return LinearFit{}, fmt.Errorf("%s: %w: found %d, expected more than the %d coefficients", model, ErrTooFewRows, n, p)
	}
	var total Sum
	for _, v := range from {
		total.Add(v * v)
	}
	if total.Total() == 0 {
		return LinearFit{}, fmt.Errorf("%s: %w: all outcomes are %v", model, ErrNoVariance, centre)
	}
	at, err := m.maximise()
	if err != nil {
		return LinearFit{}, err
	}
	var rest Sum
	for i, v := range from {
		rest.Add((v - at.eta[i]) * (v - at.eta[i]))
	}
	if !(rest.Total() > 1e-28*total.Total()) {
		return LinearFit{}, fmt.Errorf("%s: %w: the covariates give every outcome exactly", model, ErrNoVariance)
	}
	df := n - p
	variance := rest.Total() / float64(df)
	f := LinearFit{ResidualSD: math.Sqrt(variance), RSquared: 1 - rest.Total()/total.Total(), Fit: Fit{
		Model: model, Terms: slices.Concat([]string{Intercept}, terms),
		LogLik:     -float64(n) / 2 * (math.Log(2*math.Pi*rest.Total()/float64(n)) + 1),
		NullLogLik: -float64(n) / 2 * (math.Log(2*math.Pi*total.Total()/float64(n)) + 1),
		Deviance:   rest.Total(), Dispersion: 1, DF: df, N: n, Iterations: at.iterations,
	}}
	f.Coefficients, f.Covariance = m.unscale(at.beta, scaled(at.covariance, variance))
	f.Coefficients[0] += centre
	f.ModelSE = diagonalRoots(f.Covariance)
	method := "model-based"
	if opts.Cluster != nil {
		if err := m.robust(&f.Fit, at, opts); err != nil {
			return LinearFit{}, fmt.Errorf("%s: %w", model, err)
		}
		method = f.Robust
	} else {
		f.freedom = func([]float64) float64 { return float64(df) }
		f.RobustDF = slices.Repeat([]float64{float64(df)}, p)
		f.reference = fmt.Sprintf(", t on %d degrees of freedom", df)
	}
	f.SE = diagonalRoots(f.Covariance)
	level := confidenceLevel(opts.Level)
	for j, term := range terms {
		b, se := f.Coefficients[j+1], f.SE[j+1]
		half := f.critical(j+1, level) * se
		f.Estimates = append(f.Estimates, Estimate{
			Measure: "coefficient", Term: term, Value: b, Lower: b - half, Upper: b + half, SE: se, Level: level,
			P: f.tail(j+1, b/se), Method: "Wald limits, " + method + f.reference,
		})
	}
	slopes := make([]int, len(terms))
	for j := range slopes {
		slopes[j] = j + 1
	}
	if len(slopes) > 0 {
		f.Tests = []Test{f.JointTest("Wald test", slopes)}
	}
	return f, nil
}
