package stats

import (
	"fmt"
	"math"
	"slices"
)

// MarginalCurve gives the marginal rates (see MarginalRate) were some covariates
// the same in every row, for a list of their values: the rate along a spline of
// age, or around the year. columns are indices of x's columns and each of
// values holds one number for each of them; what x has there does not matter.
// The model being log-linear, the other covariates are averaged once: with m
// the marginal rate where the columns are 0, the rate at v is m exp(v'b).
//
// Limits are pointwise. It returns what MarginalRate returns; a list of values
// of another length than columns is the caller's mistake.
func MarginalCurve(f Fit, x [][]float64, weights []float64, columns []int, values [][]float64, opts MarginalOptions) ([]Estimate, error) {
	apart := make([][]float64, len(x))
	for i, row := range x {
		apart[i] = slices.Clone(row)
		for _, j := range columns {
			apart[i][j] = 0
		}
	}
	log, gradient, err := logMarginal(f, apart, weights)
	if err != nil {
		return nil, fmt.Errorf("marginal rate: %w", err)
	}
	per := ratePer(opts.Per)
	var list []Estimate
	for _, v := range values {
		if len(v) != len(columns) {
			panic(fmt.Sprintf("stats: %d values for %d columns of a marginal curve", len(v), len(columns)))
		}
		at, moved := log, slices.Clone(gradient)
		for k, j := range columns {
			at += float64(v[k] * f.Coefficients[j+1])
			moved[j+1] = v[k]
		}
		e := f.marginal("marginal rate", at, moved, opts, true)
		e.Value, e.Lower, e.Upper = e.Value*per, e.Lower*per, e.Upper*per
		e.P = math.NaN()
		list = append(list, e)
	}
	return list, nil
}
