package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A second, plain implementation: every sum over rows is written out as a loop
// over all rows, from the definitions, with nothing sorted, centred or shared
// with the methods.

func naiveAtRisk(t Times, i int, at float64) bool {
	return (t.Entry == nil || t.Entry[i] < at) && at <= t.Exit[i]
}

// naiveCurve is survival and Greenwood's variance at a time.
func naiveCurve(t Times, at float64) (survival, variance float64) {
	survival = 1
	sum := 0.0
	seen := map[float64]bool{}
	for i := range t.Exit {
		s := t.Exit[i]
		if !t.Status[i] || s > at || seen[s] {
			continue
		}
		seen[s] = true
		n, d := 0.0, 0.0
		for j := range t.Exit {
			if naiveAtRisk(t, j, s) {
				n++
				if t.Status[j] && t.Exit[j] == s {
					d++
				}
			}
		}
		survival *= 1 - d/n
		sum += d / (n * (n - d))
	}
	return survival, survival * survival * sum
}

// naiveLogRank is the statistic of three groups in strata: the sums of each
// event time of each stratum for the first two groups, and the quadratic form
// with their covariance inverted by Cramer's rule.
func naiveLogRank(t Times, group, stratum []int) float64 {
	var u [2]float64
	var v [2][2]float64
	seen := map[[2]float64]bool{}
	for i := range t.Exit {
		s := t.Exit[i]
		here := [2]float64{s, float64(stratum[i])}
		if !t.Status[i] || seen[here] {
			continue
		}
		seen[here] = true
		n, d := 0.0, 0.0
		var ng, dg [3]float64
		for j := range t.Exit {
			if stratum[j] != stratum[i] || !naiveAtRisk(t, j, s) {
				continue
			}
			n++
			ng[group[j]]++
			if t.Status[j] && t.Exit[j] == s {
				d++
				dg[group[j]]++
			}
		}
		for g := range u {
			u[g] += dg[g] - d*ng[g]/n
			for h := range u {
				same := 0.0
				if g == h {
					same = 1
				}
				if n > 1 {
					v[g][h] += d * (n - d) / (n - 1) * (ng[g] / n) * (same - ng[h]/n)
				}
			}
		}
	}
	determinant := v[0][0]*v[1][1] - v[0][1]*v[1][0]
	return (u[0]*u[0]*v[1][1] - 2*u[0]*u[1]*v[0][1] + u[1]*u[1]*v[0][0]) / determinant
}

// naiveCoxLogLik is the log partial likelihood; rows may be weighted for
// Breslow's ties.
func naiveCoxLogLik(t Times, x [][]float64, beta, weight []float64, ties string) float64 {
	logLik := 0.0
	seen := map[float64]bool{}
	for i := range t.Exit {
		s := t.Exit[i]
		if !t.Status[i] || seen[s] {
			continue
		}
		seen[s] = true
		risk, tied, d, dw := 0.0, 0.0, 0, 0.0
		for j := range t.Exit {
			if !naiveAtRisk(t, j, s) {
				continue
			}
			eta := 0.0
			for k := range beta {
				eta += beta[k] * x[j][k]
			}
			risk += weight[j] * math.Exp(eta)
			if t.Status[j] && t.Exit[j] == s {
				tied += math.Exp(eta)
				logLik += weight[j] * eta
				d++
				dw += weight[j]
			}
		}
		if ties == TiesBreslow {
			logLik -= dw * math.Log(risk)
			continue
		}
		for k := range d {
			logLik -= math.Log(risk - float64(k)/float64(d)*tied)
		}
	}
	return logLik
}

func ones(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 1
	}
	return w
}

func TestCurveAgainstNaive(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for i := range 60 {
		rows := randomCase(r, 3+r.IntN(40), i%2 == 0).times()
		c := mustCurve(t, rows, CurveOptions{})
		for _, at := range []float64{0, 1, 2, 3.5, 5, 8, 13} {
			got := c.At(at)
			survival, variance := naiveCurve(rows, at)
			if last := c.Time[len(c.Time)-1]; at > last && survival > 0 {
				survival = math.NaN()
				variance = math.NaN()
			}
			if !near(got.Survival, survival, 1e-13) || (survival > 0 && !near(got.SE, math.Sqrt(variance), 1e-13)) {
				t.Fatalf("case %d at %v: %v (%v), want %v (%v)", i, at, got.Survival, got.SE, survival, math.Sqrt(variance))
			}
			n := 0
			for j := range rows.Exit {
				if naiveAtRisk(rows, j, at) {
					n++
				}
			}
			if at > 0 && got.AtRisk != n {
				t.Fatalf("case %d at %v: %d at risk, want %d", i, at, got.AtRisk, n)
			}
		}
	}
}

func TestLogRankAgainstNaive(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for i := range 60 {
		c := randomCase(r, 20+r.IntN(40), i%2 == 0)
		for j := range c.Group {
			c.Group[j] = j % 3
		}
		for _, strata := range [][]int{nil, c.Stratum} {
			got, err := LogRank(c.times(), c.Group, 3, LogRankOptions{Strata: strata})
			if err != nil {
				t.Fatal(err)
			}
			if strata == nil {
				strata = make([]int, len(c.Group))
			}
			if want := naiveLogRank(c.times(), c.Group, strata); !near(got.Test.Statistic, want, 1e-11) || got.Test.DF != 2 {
				t.Fatalf("case %d: %v on %v, want %v on 2", i, got.Test.Statistic, got.Test.DF, want)
			}
			sum := 0.0
			for g := range got.Expected {
				sum += got.Observed[g] - got.Expected[g]
			}
			if !near(sum, 0, 1e-11) {
				t.Fatalf("case %d: observed less expected add up to %v", i, sum)
			}
		}
	}
}

// At the estimates the plain likelihood must be the one reported, its slope 0
// and its curvature the inverse of the covariance. Slopes are differences over
// ±h, good to h² and to rounding over h; with h = 1e-4 that is about 1e-8 and,
// for second differences, 1e-6.
func TestCoxAgainstNaive(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	const h = 1e-4
	fitted := 0
	for i := range 80 {
		c := randomCase(r, 15+r.IntN(30), i%2 == 0)
		ties := []string{TiesEfron, TiesBreslow}[i/2%2]
		f, err := FitCox(c.times(), c.X, c.terms(), CoxOptions{Ties: ties})
		if err != nil {
			continue // refusals are compared with R
		}
		fitted++
		at := func(j, k int, dj, dk float64) float64 {
			beta := append([]float64{}, f.Coefficients...)
			beta[j] += dj
			beta[k] += dk
			return naiveCoxLogLik(c.times(), c.X, beta, ones(len(c.X)), ties)
		}
		if got := at(0, 0, 0, 0); !near(got, f.LogLik, 1e-12) {
			t.Fatalf("case %d: log likelihood %v, want %v", i, f.LogLik, got)
		}
		if got := naiveCoxLogLik(c.times(), c.X, make([]float64, len(c.X[0])), ones(len(c.X)), ties); !near(got, f.NullLogLik, 1e-12) {
			t.Fatalf("case %d: log likelihood at zero %v, want %v", i, f.NullLogLik, got)
		}
		p := len(f.Coefficients)
		information := newMatrix(p, p)
		for j := range p {
			if slope := (at(j, j, h, 0) - at(j, j, -h, 0)) / (2 * h); math.Abs(slope) > 1e-6 {
				t.Errorf("case %d: slope %v of term %d", i, slope, j)
			}
			for k := range p {
				information[j][k] = -(at(j, k, h, h) - at(j, k, h, -h) - at(j, k, -h, h) + at(j, k, -h, -h)) / (4 * h * h)
			}
		}
		for j := range p {
			for k := range p {
				product := 0.0
				for m := range p {
					product += information[j][m] * f.Covariance[m][k]
				}
				want := 0.0
				if j == k {
					want = 1
				}
				if math.Abs(product-want) > 1e-4 {
					t.Errorf("case %d: information times covariance [%d][%d] = %v, want %v", i, j, k, product, want)
				}
			}
		}
	}
	if fitted < 60 {
		t.Errorf("only %d fits compared", fitted)
	}
}

// A row's score residual is how the gradient moves with the row's weight
// (Breslow's ties, where weights have one meaning).
func TestScoreResidualsAgainstWeights(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	const h = 1e-4
	for i := range 10 {
		c := randomCase(r, 20, i%2 == 0)
		m := newCoxModel(c.times(), c.X, CoxOptions{Ties: TiesBreslow})
		beta := make([]float64, len(c.X[0]))
		scaled := make([]float64, len(beta))
		for j := range beta {
			beta[j] = 0.3 * float64(j+1)
			scaled[j] = beta[j] * m.scale[j]
		}
		residuals := m.scoreResiduals(scaled)
		_, gradient, _ := m.likelihood(scaled)
		for j := range beta {
			sum := 0.0
			for row := range c.X {
				sum += residuals[row][j]
				at := func(db, dw float64) float64 {
					b, w := append([]float64{}, beta...), ones(len(c.X))
					b[j] += db
					w[row] += dw
					return naiveCoxLogLik(c.times(), c.X, b, w, TiesBreslow)
				}
				want := (at(h, h) - at(h, -h) - at(-h, h) + at(-h, -h)) / (4 * h * h)
				if got := residuals[row][j] * m.scale[j]; math.Abs(got-want) > 1e-5 {
					t.Fatalf("case %d row %d term %d: %v, want %v", i, row, j, got, want)
				}
			}
			if !near(sum, gradient[j], 1e-11) {
				t.Errorf("case %d: residuals of term %d add up to %v, gradient %v", i, j, sum, gradient[j])
			}
		}
	}
}
