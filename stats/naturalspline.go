package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrKnots says that knots cannot be placed.
var ErrKnots = errors.New("knots cannot be placed")

// A NaturalSpline is a basis of the natural cubic splines of a number: cubic
// between its knots with two continuous derivatives, straight before the first
// and after the last. With K knots t_1 < … < t_K the K−1 columns are
//
//	x and, for j < K−1, (d(t_j) − d'(t_j)) / (t_K − t_1)²
//
// with d(t) = (x−t)₊³ and d'(t) the multiples of d(t_{K−1}) and d(t_K) that make
// the tail straight: d(t_{K−1}) (t_K−t)/(t_K−t_{K−1}) − d(t_K) (t_{K−1}−t)/(t_K−t_{K−1}).
// Its first column is the number itself, so that the spline is a straight line
// exactly when the other coefficients are 0. Coefficients of a spline mean
// little one by one; fitted values do not depend on the choice of basis.
//
// References: Stone CJ, Koo CY. Additive splines in statistics. Proc Stat
// Comput Sect ASA 1985:45-48. Durrleman S, Simon R. Flexible regression models
// with cubic splines. Stat Med 1989;8:551-561.
type NaturalSpline struct{ Knots []float64 } // at least 3, ascending; the first and last are the boundary

// NewNaturalSpline is the natural cubic spline with the given knots. It returns
// ErrKnots unless there are at least three finite ones, ascending.
func NewNaturalSpline(knots []float64) (NaturalSpline, error) {
	if len(knots) < 3 {
		return NaturalSpline{}, fmt.Errorf("%w: found %d, expected at least 3", ErrKnots, len(knots))
	}
	for i, k := range knots {
		if !finite(k) || i > 0 && !(k > knots[i-1]) {
			return NaturalSpline{}, fmt.Errorf("%w: %v are not finite and ascending", ErrKnots, knots)
		}
	}
	return NaturalSpline{slices.Clone(knots)}, nil
}

// QuantileKnots places n knots at quantiles of the values: the outer two at
// their least and largest, the others at the probabilities j/(n−1) (quantiles
// are interpolated between order statistics, definition 7 of Hyndman and Fan).
// It returns ErrKnots where fewer than 3 are asked for or two fall on one
// value, ErrNoData without values, and ErrNotFinite.
func QuantileKnots(values []float64, n int) ([]float64, error) {
	if n < 3 {
		return nil, fmt.Errorf("%w: found %d, expected at least 3", ErrKnots, n)
	}
	if len(values) == 0 {
		return nil, fmt.Errorf("knots: %w", ErrNoData)
	}
	if slices.ContainsFunc(values, func(v float64) bool { return !finite(v) }) {
		return nil, fmt.Errorf("knots: %w", ErrNotFinite)
	}
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	knots := make([]float64, n)
	for j := range knots {
		at := float64(len(sorted)-1) * float64(j) / float64(n-1)
		low := int(math.Floor(at))
		high := min(low+1, len(sorted)-1)
		knots[j] = sorted[low] + float64((at-float64(low))*(sorted[high]-sorted[low]))
		if j > 0 && !(knots[j] > knots[j-1]) {
			return nil, fmt.Errorf("%w: %d of them at quantiles fall together at %v", ErrKnots, n, knots[j])
		}
	}
	return knots, nil
}

// Columns is the number of columns of the basis.
func (s NaturalSpline) Columns() int { return len(s.Knots) - 1 }

// At is the row of the basis at x.
func (s NaturalSpline) At(x float64) []float64 {
	k := len(s.Knots)
	first, last, before := s.Knots[0], s.Knots[k-1], s.Knots[k-2]
	cubed := func(t float64) float64 {
		u := math.Max(0, x-t) / (last - first)
		return u * u * u * (last - first)
	}
	row := make([]float64, 0, k-1)
	row = append(row, x)
	for _, t := range s.Knots[:k-2] {
		tail := float64(cubed(before)*(last-t))/(last-before) - float64(cubed(last)*(before-t))/(last-before)
		row = append(row, cubed(t)-tail)
	}
	return row
}
