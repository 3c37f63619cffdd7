package stats

import (
	"fmt"
	"math"
)

// MarginalOptions are the choices of MarginalRate, MarginalRatio and
// MarginalDifference; the zero value is a level of 0.95 and a rate per one unit
// of person-time.
type MarginalOptions struct {
	Level float64 // confidence level; 0 means 0.95
	Per   float64 // person-time that rates are expressed per; 0 means 1
}

// MarginalRate is the rate that a fitted model of rates predicts for everybody
// were their covariates x, averaged over the rows:
//
//	m = Σ w[i] exp(b0 + x[i]'b) / Σ w[i]
//
// x holds one row of covariates for each row of the data, in the columns of the
// fit, usually with one variable set to the same level in all rows and the
// others as observed; weights are the rows' person-times (the mean then is that
// of a population with the observed covariates). With the gradient g of log m,
// the mean of (1, x[i]) weighted by w[i] exp(b0 + x[i]'b), and the covariance V
// of the fit, whatever it is made of, the limits are m exp(± z sqrt(g'Vg)); SE
// is of log m. Where the fit has degrees of freedom (Fit.RobustDF), z is
// Student's t for the combination g.
//
// The covariates are taken as given, not as a sample; the model must hold, and
// the standardised rates compare groups free of confounding by the covariates
// in it only. In a model with a coefficient for every combination of levels
// the rate is the directly standardised one with the observed person-time as
// standard.
//
// It returns ErrNotFinite for covariates that are not, and ErrNoPersonTime when
// no row has weight. Rows that do not fit the model's columns and negative
// weights are the caller's mistake.
//
// References: Lane PW, Nelder JA. Analysis of covariance and standardization
// as instances of prediction. Biometrics 1982;38:613-621. Breslow NE, Day NE.
// Statistical Methods in Cancer Research, vol. II. IARC Sci Publ 82, 1987.
func MarginalRate(f Fit, x [][]float64, weights []float64, opts MarginalOptions) (Estimate, error) {
	log, gradient, err := logMarginal(f, x, weights)
	if err != nil {
		return Estimate{}, fmt.Errorf("marginal rate: %w", err)
	}
	e := f.marginal("marginal rate", log, gradient, opts, true)
	e.Value *= ratePer(opts.Per)
	e.Lower *= ratePer(opts.Per)
	e.Upper *= ratePer(opts.Per)
	e.P = math.NaN()
	return e, nil
}

// MarginalRatio is the ratio of the marginal rates with covariates one and
// zero, with limits on the log scale and the p-value of a log ratio of 0. SE is
// of the log ratio. See MarginalRate.
func MarginalRatio(f Fit, one, zero [][]float64, weights []float64, opts MarginalOptions) (Estimate, error) {
	a, left, b, right, err := twoMarginals(f, one, zero, weights)
	if err != nil {
		return Estimate{}, fmt.Errorf("marginal rate ratio: %w", err)
	}
	gradient := make([]float64, len(left))
	for j := range gradient {
		gradient[j] = left[j] - right[j]
	}
	return f.marginal("marginal rate ratio", a-b, gradient, opts, true), nil
}

// MarginalDifference is the difference of the marginal rates with covariates
// one and zero, per opts.Per, with limits d ± z SE on its own scale and the
// p-value of no difference. See MarginalRate.
func MarginalDifference(f Fit, one, zero [][]float64, weights []float64, opts MarginalOptions) (Estimate, error) {
	a, left, b, right, err := twoMarginals(f, one, zero, weights)
	if err != nil {
		return Estimate{}, fmt.Errorf("marginal rate difference: %w", err)
	}
	per := ratePer(opts.Per)
	x, y := math.Exp(a)*per, math.Exp(b)*per
	gradient := make([]float64, len(left))
	for j := range gradient {
		gradient[j] = float64(x*left[j]) - float64(y*right[j])
	}
	return f.marginal("marginal rate difference", x-y, gradient, opts, false), nil
}

// marginal lays out a function of the coefficients with its gradient, on the
// log scale or its own.
func (f Fit) marginal(measure string, value float64, gradient []float64, opts MarginalOptions, log bool) Estimate {
	level := confidenceLevel(opts.Level)
	variance := 0.0
	for j, g := range gradient {
		variance += float64(g * dot(f.Covariance[j], gradient))
	}
	se := math.Sqrt(math.Max(0, variance))
	critical, p := criticalZ(level), twoSidedNormalP(value/se)
	if f.freedom != nil && se > 0 {
		df := f.freedom(gradient)
		critical, p = criticalT(level, df), studentTail(value/se, df)
	}
	e := Estimate{
		Measure: measure, Value: value, Lower: value - critical*se, Upper: value + critical*se,
		SE: se, Level: level, P: p, Method: "delta method, " + f.errors() + f.reference,
	}
	if log {
		e.Value, e.Lower, e.Upper = math.Exp(e.Value), math.Exp(e.Lower), math.Exp(e.Upper)
	}
	return e
}

func twoMarginals(f Fit, one, zero [][]float64, weights []float64) (a float64, left []float64, b float64, right []float64, err error) {
	if a, left, err = logMarginal(f, one, weights); err != nil {
		return a, left, b, right, err
	}
	b, right, err = logMarginal(f, zero, weights)
	return a, left, b, right, err
}

// logMarginal is the log of the marginal rate and its gradient.
func logMarginal(f Fit, x [][]float64, weights []float64) (log float64, gradient []float64, err error) {
	p := len(f.Coefficients)
	if len(f.Terms) == 0 || f.Terms[0] != Intercept || f.risk == logitRisk {
		panic("stats: a marginal rate of a fit that is not a model of rates")
	}
	if len(x) != len(weights) {
		panic(fmt.Sprintf("stats: %d rows of covariates with %d weights", len(x), len(weights)))
	}
	eta := make([]float64, len(x))
	largest := math.Inf(-1)
	var broken []int
	for i, row := range x {
		if len(row) != p-1 {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), p-1))
		}
		if !(weights[i] >= 0) || math.IsInf(weights[i], 1) {
			panic(fmt.Sprintf("stats: row %d has weight %v, expected a finite number of 0 or more", i+1, weights[i]))
		}
		for _, v := range row {
			if !finite(v) {
				broken = append(broken, i)
				break
			}
		}
		eta[i] = f.Coefficients[0] + dot(row, f.Coefficients[1:])
		if weights[i] > 0 {
			largest = math.Max(largest, eta[i])
		}
	}
	switch {
	case broken != nil:
		return 0, nil, fmt.Errorf("%w: %d of %d rows (%s)", ErrNotFinite, len(broken), len(x), firstRows(broken))
	case math.IsInf(largest, -1):
		return 0, nil, fmt.Errorf("%w in %d rows", ErrNoPersonTime, len(x))
	}
	var total, rates Sum
	sums := make([]Sum, p)
	for i, row := range x {
		if weights[i] == 0 {
			continue
		}
		w := weights[i] * math.Exp(eta[i]-largest)
		total.Add(weights[i])
		rates.Add(w)
		sums[0].Add(w)
		for j, v := range row {
			sums[j+1].Add(w * v)
		}
	}
	gradient = make([]float64, p)
	for j := range gradient {
		gradient[j] = sums[j].Total() / rates.Total()
	}
	return largest + math.Log(rates.Total()/total.Total()), gradient, nil
}
