package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// An Inflation is how much the other columns of a design widen the limits of
// one term.
type Inflation struct {
	Term    string
	Columns int
	// Factor is the variance inflation factor; of a term of several columns the
	// generalised one, as the power 1/Columns, so that it compares with that of
	// a single column.
	Factor float64
}

// VarianceInflation gives the variance inflation factor of each term of a design
// of n rows: for a single column 1/(1−R²), with R² of its regression on the
// other columns; for a term of several columns, such as the levels of a category
// or a spline, the generalised factor of Fox and Monette
//
//	(det R_own det R_others / det R)^(1/columns)
//
// with R the correlation matrix of all columns, which does not depend on the
// reference level or the basis. groups lists the columns of each term by index.
// 1 says that the others tell nothing of it; above 10 (common practice) little
// of the term is left that they do not tell. It speaks of the covariates alone,
// not of how events spread over them.
//
// It returns ErrNoData, ErrNotFinite, and ErrCollinear where a column is
// constant or a combination of others.
//
// Fox J, Monette G. Generalized collinearity diagnostics. J Am Stat Assoc
// 1992;87:178-183.
func VarianceInflation(x [][]float64, terms []string, groups [][]int) ([]Inflation, error) {
	if len(terms) != len(groups) {
		panic(fmt.Sprintf("stats: %d terms with %d groups of columns", len(terms), len(groups)))
	}
	if len(x) == 0 {
		return nil, fmt.Errorf("variance inflation: %w", ErrNoData)
	}
	columns := len(x[0])
	z := make([][]float64, columns)
	for j := range z {
		z[j] = make([]float64, len(x))
		for i, row := range x {
			if !finite(row[j]) {
				return nil, fmt.Errorf("variance inflation: %w: row %d, column %d", ErrNotFinite, i+1, j+1)
			}
			z[j][i] = row[j]
		}
		mean, sd := meanSD(z[j])
		if !(sd > 1e-12*math.Abs(mean)) {
			return nil, fmt.Errorf("variance inflation: column %d has one value in all rows: %w", j+1, ErrCollinear)
		}
		for i := range z[j] {
			z[j][i] = (z[j][i] - mean) / sd
		}
	}
	r := mat.NewSymDense(columns, nil)
	for i := range columns {
		for j := i; j < columns; j++ {
			var sum Sum
			for k := range z[i] {
				sum.Add(z[i][k] * z[j][k])
			}
			r.SetSym(i, j, sum.Total())
		}
	}
	whole, ok := logDeterminant(r, nil)
	if !ok {
		return nil, fmt.Errorf("variance inflation: %w", ErrCollinear)
	}
	var list []Inflation
	for k, own := range groups {
		one, _ := logDeterminant(r, own)
		rest, _ := logDeterminant(r, without(columns, own))
		list = append(list, Inflation{terms[k], len(own), math.Exp((one + rest - whole) / float64(len(own)))})
	}
	return list, nil
}

// without lists the numbers below n that are not in a list.
func without(n int, left []int) []int {
	out := []int{}
	is := make([]bool, n)
	for _, j := range left {
		is[j] = true
	}
	for j := range n {
		if !is[j] {
			out = append(out, j)
		}
	}
	return out
}

// logDeterminant is that of the rows and columns listed, nil being all; false
// where they are not positive definite to ten digits.
func logDeterminant(r *mat.SymDense, list []int) (float64, bool) {
	if list == nil {
		list = without(r.SymmetricDim(), nil)
	}
	a := newMatrix(len(list), len(list))
	for i, k := range list {
		for j, l := range list {
			a[i][j] = r.At(k, l)
		}
	}
	l, _, ok := cholesky(a, 1e-10)
	if !ok {
		return math.Inf(-1), false
	}
	sum := 0.0
	for i := range l {
		sum += 2 * math.Log(l[i][i])
	}
	return sum, true
}
