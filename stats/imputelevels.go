package stats

import (
	"math"
	"math/rand/v2"
	"slices"
)

// drawLevels imputes a category by multinomial logistic regression. Levels that
// are not observed are not imputed.
func (c *imputeChain) drawLevels(r *rand.Rand, j int, x [][]float64, y []float64) error {
	place := map[float64]int{}
	var levels []float64
	for _, i := range c.observed[j] {
		if _, known := place[y[i]]; !known {
			place[y[i]] = 0
			levels = append(levels, y[i])
		}
	}
	slices.Sort(levels)
	for k, v := range levels {
		place[v] = k
	}
	of := make([]int, len(c.observed[j]))
	rows := make([][]float64, len(of))
	for k, i := range c.observed[j] {
		of[k], rows[k] = place[y[i]], x[i]
	}
	beta, l, err := fitMultinomial(rows, of, len(levels))
	if err != nil {
		return err
	}
	for a, e := range normalWith(r, l) {
		beta[a] += e
	}
	for _, i := range c.missing[j] {
		u := r.Float64()
		chances := multinomialChances(x[i], beta, len(levels))
		k := 0
		for k < len(levels)-1 && u >= chances[k] {
			u -= chances[k]
			k++
		}
		y[i] = levels[k]
	}
	return nil
}

// fitMultinomial maximises the posterior of a multinomial logistic regression
// whose coefficients but the intercepts have a normal prior, by Newton's method
// with step halving. The coefficients of level k > 0 against level 0 are
// beta[(k−1)p : kp]; l is the Cholesky factor of the negative matrix of second
// derivatives.
func fitMultinomial(x [][]float64, y []int, levels int) (beta []float64, l [][]float64, err error) {
	p := len(x[0])
	size := p * (levels - 1)
	beta = make([]float64, size)
	posterior := func(beta []float64) float64 {
		sum := 0.0
		for i, row := range x {
			sum += math.Log(multinomialChances(row, beta, levels)[y[i]])
		}
		for a, b := range beta {
			if a%p != 0 {
				sum -= b * b / (2 * imputePrior * imputePrior)
			}
		}
		return sum
	}
	at := posterior(beta)
	for range 100 {
		gradient, information := make([]float64, size), newMatrix(size, size)
		for i, row := range x {
			chances := multinomialChances(row, beta, levels)
			for k := 1; k < levels; k++ {
				d := -chances[k]
				if y[i] == k {
					d++
				}
				for a, v := range row {
					gradient[(k-1)*p+a] += d * v
					for m := 1; m <= k; m++ {
						w := -chances[k] * chances[m]
						if m == k {
							w += chances[k]
						}
						for b, u := range row {
							information[(k-1)*p+a][(m-1)*p+b] += w * v * u
						}
					}
				}
			}
		}
		for a := range size {
			for b := range a {
				information[b][a] = information[a][b]
			}
			information[a][a] += 1e-8
			if a%p != 0 {
				gradient[a] -= beta[a] / (imputePrior * imputePrior)
				information[a][a] += 1 / (imputePrior * imputePrior)
			}
		}
		var ok bool
		if l, _, ok = cholesky(information, 1e-14); !ok {
			return nil, nil, ErrCollinear
		}
		step := choleskySolve(l, gradient)
		if dot(step, gradient) < 1e-12 {
			return beta, l, nil
		}
		moving := false
		for part := 1.0; part > 1e-6; part /= 2 {
			next := moved(beta, step, part)
			if v := posterior(next); v >= at-1e-12*math.Abs(at) {
				beta, at, moving = next, v, true
				break
			}
		}
		if !moving {
			break
		}
	}
	return nil, nil, ErrNotConverged
}

// multinomialChances are the probabilities of the levels of a row.
func multinomialChances(row, beta []float64, levels int) []float64 {
	p := len(row)
	out := make([]float64, levels)
	top := 0.0
	for k := 1; k < levels; k++ {
		out[k] = dot(row, beta[(k-1)*p:k*p])
		top = math.Max(top, out[k])
	}
	sum := 0.0
	for k := range out {
		out[k] = math.Exp(out[k] - top)
		sum += out[k]
	}
	for k := range out {
		out[k] /= sum
	}
	return out
}
