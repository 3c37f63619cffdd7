package stats

import "math"

// proportionalityTest is the score test that the slopes of the cumulative
// logits are the same, against slopes of their own for each cut. It is the same
// on scaled columns.
//
// With t_j = θ_j − x'b_j the linear predictor of cut j, f_j the logistic density
// there and π_k the probabilities of the levels, the expected information of a
// row about t is f_j² (1/π_j + 1/π_{j+1}) on the diagonal and
// −f_j f_{j+1}/π_{j+1} beside it.
func (o *ordinal) proportionalityTest() Test {
	q, p := o.cuts, len(o.terms)+1
	size := q * p
	test := Test{
		Name: "score test of proportional odds", Statistic: math.NaN(), DF: float64((q - 1) * (p - 1)), P: math.NaN(),
		Method: "chi-squared, expected information",
	}
	// Cut j has the coefficients j*p to j*p+p−1: θ_j, then −b_j.
	sums := sumChunks(len(o.level), size+size*size, func(sums []float64, from, to int) {
		second := sums[size:]
		density, risk := make([]float64, q), make([]float64, q+1)
		for i := from; i < to; i++ {
			row := o.x[i] // with its leading 1
			eta := dot(row[1:], o.beta[q:])
			below := math.Inf(-1)
			for k := range q + 1 {
				above := math.Inf(1)
				if k < q {
					above = o.beta[k] - eta
					_, density[k] = logistic{}.mean(0, above)
				}
				risk[k] = math.Exp(logInterval(above, below))
				below = above
			}
			u, l := o.bounds(o.beta, i)
			first, last, _, _, _ := intervalDerivatives(u, l)
			k := o.level[i]
			for j, v := range row {
				if k < q {
					sums[k*p+j] += float64(first * v)
				}
				if k > 0 {
					sums[(k-1)*p+j] += float64(last * v)
				}
			}
			for c := range q {
				own := density[c] * density[c] * (1/risk[c] + 1/risk[c+1])
				beside := 0.0
				if c > 0 {
					beside = -density[c] * density[c-1] / risk[c]
				}
				for j, v := range row {
					for m, w := range row {
						second[(c*p+j)*size+c*p+m] += float64(own * v * w)
						if c > 0 {
							second[(c*p+j)*size+(c-1)*p+m] += float64(beside * v * w)
						}
					}
				}
			}
		}
	})
	information := newMatrix(size, size)
	for j := range size {
		for k := range j + 1 {
			information[j][k] = sums[size+j*size+k]
			information[k][j] = information[j][k]
		}
	}
	l, _, ok := cholesky(information, 1e-10)
	if !ok {
		test.Warnings = []Warning{{"singular-information", "The information about slopes of each cut point is singular: there is no test of proportional odds."}}
		return test
	}
	test.Statistic = math.Max(0, dot(sums[:size], choleskySolve(l, sums[:size])))
	test.P = chiSquaredTail(test.Statistic, test.DF)
	return test
}
