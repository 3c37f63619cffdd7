package stats

import (
	"fmt"
	"math"
)

// predictor is the row of the intercept and the columns; another length than
// the columns is the caller's mistake.
func (f ParametricFit) predictor(x []float64) (row []float64, eta float64) {
	columns := len(f.Coefficients) - 1
	if f.Distribution != Exponential {
		columns--
	}
	if len(x) != columns {
		panic(fmt.Sprintf("stats: %d covariates for a model of %d", len(x), columns))
	}
	for _, v := range x {
		if !finite(v) {
			panic(fmt.Sprintf("stats: covariate %v, expected a finite number", v))
		}
	}
	row = make([]float64, len(f.Coefficients))
	row[0] = 1
	copy(row[1:], x)
	return row, dot(row[:columns+1], f.Coefficients[:columns+1])
}

// Survival is the predicted probability of no event by a time for covariates
// x, one for each column of the model, with limits by the delta method on the
// scale of log(−log S); SE is on that scale. A level of 0 means 0.95. At time 0
// it is 1 without limits; a negative time or one that is not finite is the
// caller's mistake.
func (f ParametricFit) Survival(x []float64, t, level float64) Estimate {
	if !(t >= 0) || math.IsInf(t, 1) {
		panic(fmt.Sprintf("stats: survival at time %v, expected a time from 0 on", t))
	}
	row, eta := f.predictor(x)
	e := Estimate{
		Measure: "survival", Term: fmt.Sprintf("at %g", t), Value: 1, Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(),
		Level: confidenceLevel(level), P: math.NaN(), Method: f.Model + ", log-log limits, delta method, " + f.errors(),
	}
	if t == 0 {
		return e
	}
	sigma := f.scale()
	z := (math.Log(t) - eta) / sigma
	tail, slope, _ := f.Distribution.law().above(z)
	if e.Value = math.Exp(tail); tail == 0 || math.IsInf(tail, -1) {
		e.Warnings = []Warning{{"beyond-precision", "The predicted probability cannot be told from 0 or 1: it has no limits."}}
		return e
	}
	// log(−log S) moves by slope/tail for 1 of z.
	gradient := make([]float64, len(row))
	for j, v := range row {
		gradient[j] = slope / tail * -v / sigma
	}
	if f.Distribution != Exponential {
		gradient[len(row)-1] = slope / tail * -z
	}
	e.SE = f.spread(gradient)
	half := math.Exp(criticalZ(e.Level) * e.SE)
	e.Lower, e.Upper = math.Exp(tail*half), math.Exp(tail/half)
	return e
}

// Quantile is the predicted time by which a share p of rows with covariates x
// have had the event,
//
//	exp(x'b + σw)  with P(W <= w) = p
//
// and limits by the delta method on the scale of its logarithm, on which SE is.
// A level of 0 means 0.95. A share outside (0, 1) is the caller's mistake.
func (f ParametricFit) Quantile(x []float64, p, level float64) Estimate {
	if !(p > 0 && p < 1) {
		panic(fmt.Sprintf("stats: quantile %v outside (0, 1)", p))
	}
	row, eta := f.predictor(x)
	w := f.Distribution.law().quantile(p)
	sigma := f.scale()
	if f.Distribution != Exponential {
		row[len(row)-1] = sigma * w
	}
	e := f.logEstimate(fmt.Sprintf("time to a share of %g", p), "", eta+sigma*w, f.spread(row), confidenceLevel(level), f.Model+", log limits, delta method")
	e.P = math.NaN()
	return e
}
