package stats

import "math"

// newMatrix returns a matrix of zeros whose rows share one allocation.
func newMatrix(rows, columns int) [][]float64 {
	all := make([]float64, rows*columns)
	m := make([][]float64, rows)
	for i := range m {
		m[i], all = all[:columns:columns], all[columns:]
	}
	return m
}

// dot returns the inner product, without fused multiply-add.
func dot(a, b []float64) float64 {
	sum := 0.0
	for i, x := range a {
		sum += float64(x * b[i])
	}
	return sum
}

// cholesky returns the lower factor L of a symmetric positive definite matrix,
// a = L Lᵀ. If a pivot is not above tolerance times the diagonal entry it came
// from, the column depends on the ones before it: ok is false and column says
// which.
func cholesky(a [][]float64, tolerance float64) (l [][]float64, column int, ok bool) {
	n := len(a)
	l = newMatrix(n, n)
	for j := range n {
		pivot := a[j][j] - dot(l[j][:j], l[j][:j])
		if !(pivot > tolerance*a[j][j]) {
			return nil, j, false
		}
		l[j][j] = math.Sqrt(pivot)
		for i := j + 1; i < n; i++ {
			l[i][j] = (a[i][j] - dot(l[i][:j], l[j][:j])) / l[j][j]
		}
	}
	return l, -1, true
}

// choleskySolve returns x with L Lᵀ x = b.
func choleskySolve(l [][]float64, b []float64) []float64 {
	n := len(l)
	x := make([]float64, n)
	for i := range n {
		x[i] = (b[i] - dot(l[i][:i], x[:i])) / l[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		sum := x[i]
		for k := i + 1; k < n; k++ {
			sum -= float64(l[k][i] * x[k])
		}
		x[i] = sum / l[i][i]
	}
	return x
}

// choleskyInverse returns the inverse of L Lᵀ, exactly symmetric.
func choleskyInverse(l [][]float64) [][]float64 {
	n := len(l)
	inverse := newMatrix(n, n)
	unit := make([]float64, n)
	for j := range n {
		unit[j] = 1
		column := choleskySolve(l, unit)
		unit[j] = 0
		for i := j; i < n; i++ {
			inverse[i][j], inverse[j][i] = column[i], column[i]
		}
	}
	return inverse
}
