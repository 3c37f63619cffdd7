package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// naiveEfronResidual is the score residual of row i with Efron's ties, from
// the definition: d events tied at a time are as many events one after the
// other, at the k-th of which each of them counts as the part 1-k/d of a row
// at risk, and whose event each of them has with the part 1/d.
func naiveEfronResidual(t Times, x [][]float64, beta []float64, i, column int) float64 {
	weight := func(j int) float64 {
		eta := 0.0
		for k, b := range beta {
			eta += b * x[j][k]
		}
		return math.Exp(eta)
	}
	residual := 0.0
	seen := map[float64]bool{}
	for e := range t.Exit {
		s := t.Exit[e]
		if !t.Status[e] || seen[s] || !naiveAtRisk(t, i, s) {
			continue
		}
		seen[s] = true
		d := 0.0
		for j := range t.Exit {
			if t.Status[j] && t.Exit[j] == s {
				d++
			}
		}
		for k := 0.0; k < d; k++ {
			part := func(j int) float64 {
				if t.Status[j] && t.Exit[j] == s {
					return 1 - k/d
				}
				return 1
			}
			sum, sumX := 0.0, 0.0
			for j := range t.Exit {
				if naiveAtRisk(t, j, s) {
					sum += part(j) * weight(j)
					sumX += part(j) * weight(j) * x[j][column]
				}
			}
			apart := x[i][column] - sumX/sum
			residual -= part(i) * weight(i) / sum * apart
			if t.Status[i] && t.Exit[i] == s {
				residual += apart / d
			}
		}
	}
	return residual
}

func TestScoreResidualsAgainstNaive(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for i := range 40 {
		c := randomCase(r, 10+r.IntN(30), i%2 == 0)
		m := newCoxModel(c.times(), c.X, CoxOptions{Ties: TiesEfron})
		beta, scaled := make([]float64, len(c.X[0])), make([]float64, len(c.X[0]))
		for j := range beta {
			beta[j] = 0.4 - 0.3*float64(j)
			scaled[j] = beta[j] * m.scale[j]
		}
		residuals := m.scoreResiduals(scaled)
		for row := range c.X {
			for j := range beta {
				want := naiveEfronResidual(c.times(), c.X, beta, row, j)
				if got := residuals[row][j] * m.scale[j]; !near(got, want, 1e-12) {
					t.Fatalf("case %d row %d term %d: %v, want %v", i, row, j, got, want)
				}
			}
		}
	}
}
