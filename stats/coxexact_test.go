package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// naiveExactLogLik goes through all subsets of each risk set.
func naiveExactLogLik(t Times, x [][]float64, strata []int, offset, beta []float64) float64 {
	eta := make([]float64, len(x))
	for i, row := range x {
		eta[i] = offset[i]
		for j, b := range beta {
			eta[i] += b * row[j]
		}
	}
	type place struct {
		stratum int
		at      float64
	}
	logLik := 0.0
	seen := map[place]bool{}
	for e := range x {
		here := place{strata[e], t.Exit[e]}
		if !t.Status[e] || seen[here] {
			continue
		}
		seen[here] = true
		var risk []int
		d := 0
		for i := range x {
			if strata[i] != here.stratum || !naiveAtRisk(t, i, here.at) {
				continue
			}
			risk = append(risk, i)
			if t.Status[i] && t.Exit[i] == here.at {
				logLik += eta[i]
				d++
			}
		}
		sum := 0.0
		for subset := range 1 << len(risk) {
			size, total := 0, 0.0
			for k, i := range risk {
				if subset>>k&1 == 1 {
					size++
					total += eta[i]
				}
			}
			if size == d {
				sum += math.Exp(total)
			}
		}
		logLik -= math.Log(sum)
	}
	return logLik
}

// With all subsets gone through the likelihood is the one reported, and its
// gradient and information are the differences over ±h, good to h².
func TestCoxExactAgainstNaive(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 1))
	const h = 1e-4
	for i := range 60 {
		c := randomCoxCase(r, 6+r.IntN(7), TiesExact)
		strata, offset := c.Stratum, c.Offset
		if strata == nil {
			strata = make([]int, len(c.X))
		}
		if offset == nil {
			offset = make([]float64, len(c.X))
		}
		m := newCoxModel(c.times(), c.X, c.options())
		if m.events == 0 {
			continue
		}
		p := len(c.X[0])
		beta, scaledBeta := make([]float64, p), make([]float64, p)
		for j := range beta {
			if m.scale[j] > 0 {
				beta[j] = r.Float64() - 0.5
			}
			scaledBeta[j] = beta[j] * m.scale[j]
		}
		at := func(j, k int, dj, dk float64) float64 {
			moved := append([]float64{}, beta...)
			moved[j] += dj
			moved[k] += dk
			return naiveExactLogLik(c.times(), c.X, strata, offset, moved)
		}
		got, gradient, information := m.likelihood(scaledBeta)
		if want := at(0, 0, 0, 0); !near(got, want, 1e-12) {
			t.Fatalf("case %d: log likelihood %.17g, want %.17g", i, got, want)
		}
		for j := range p {
			if slope := (at(j, j, h, 0) - at(j, j, -h, 0)) / (2 * h); !near(gradient[j]*m.scale[j], slope, 1e-6) {
				t.Errorf("case %d: gradient %v, want %v", i, gradient[j]*m.scale[j], slope)
			}
			for k := range p {
				want := -(at(j, k, h, h) - at(j, k, h, -h) - at(j, k, -h, h) + at(j, k, -h, -h)) / (4 * h * h)
				if got := information[j][k] * m.scale[j] * m.scale[k]; !near(got, want, 1e-5) {
					t.Errorf("case %d: information %v, want %v", i, got, want)
				}
			}
		}
	}
}

// In each of two risk sets of three rows, one of them with x = 1, two have the
// event together: the subsets of two have the weights r, r and 1, with r the
// odds ratio. In one x = 1 and x = 0 have it, in the other both with x = 0: the
// likelihood is r/(2r+1)², at most 1/8 where r = 1/2, with the information
// 2 · 2r/(2r+1)² = 1/2.
func TestCoxExactByHand(t *testing.T) {
	rows := Times{
		Exit:   []float64{1, 1, 1, 1, 1, 1},
		Status: []bool{true, true, false, true, true, false},
	}
	x := columns([]float64{1, 0, 0, 0, 0, 1})
	f := mustCox(t, rows, x, []string{"x"}, CoxOptions{Ties: TiesExact, Strata: []int{1, 1, 1, 2, 2, 2}})
	if !near(f.Coefficients[0], -math.Ln2, 1e-12) || !near(f.LogLik, -math.Log(8), 1e-12) || !near(f.SE[0], math.Sqrt2, 1e-12) ||
		!near(f.NullLogLik, -math.Log(9), 1e-12) {
		t.Errorf("coefficient %v, log likelihoods %v %v, SE %v", f.Coefficients[0], f.NullLogLik, f.LogLik, f.SE[0])
	}
	if f.Ties != TiesExact || !strings.Contains(f.Estimates[0].Method, "exact ties") || f.Strata != 2 {
		t.Errorf("%+v", f)
	}
}

// Among 3,000 rows 1,000 have the event together: the sum over subsets is beyond
// the range of floating point, its logarithm at 0 that of a binomial
// coefficient. One binary covariate makes the likelihood that of a 2 by 2 table
// with fixed margins, whose conditional odds ratio solves the mean of the
// noncentral hypergeometric distribution.
func TestCoxExactManyTies(t *testing.T) {
	const n, d = 3000, 1000
	var rows Times
	x := newMatrix(n, 1)
	a, ones := 0, 0
	for i := range n {
		rows.Exit = append(rows.Exit, 1)
		rows.Status = append(rows.Status, i < d)
		if i%3 == 0 || (i < d && i%5 == 0) {
			x[i][0] = 1
			ones++
			if i < d {
				a++
			}
		}
	}
	f := mustCox(t, rows, x, []string{"x"}, CoxOptions{Ties: TiesExact})
	choose := func(n, k int) float64 {
		a, _ := math.Lgamma(float64(n + 1))
		b, _ := math.Lgamma(float64(k + 1))
		c, _ := math.Lgamma(float64(n - k + 1))
		return a - b - c
	}
	if want := -choose(n, d); !near(f.NullLogLik, want, 1e-12) {
		t.Errorf("log likelihood at 0 %.17g, want %.17g", f.NullLogLik, want)
	}
	// Moments of the number of events with x = 1 at the estimate.
	sum, mean, square := 0.0, 0.0, 0.0
	top := choose(ones, a) + choose(n-ones, d-a) + float64(a)*f.Coefficients[0]
	for k := max(0, d-(n-ones)); k <= min(d, ones); k++ {
		w := math.Exp(choose(ones, k) + choose(n-ones, d-k) + float64(k)*f.Coefficients[0] - top)
		sum += w
		mean += w * float64(k-a)
		square += w * float64((k-a)*(k-a))
	}
	mean /= sum
	if math.Abs(mean) > 1e-7 || !near(f.SE[0], 1/math.Sqrt(square/sum-mean*mean), 1e-7) {
		t.Errorf("%v more events expected than seen; SE %v", mean, f.SE[0])
	}
	if want := float64(a)*f.Coefficients[0] - top - math.Log(sum); !near(f.LogLik, want, 1e-10) {
		t.Errorf("log likelihood %.17g, want %.17g", f.LogLik, want)
	}
}

func TestCoxExactTooLarge(t *testing.T) {
	const n = 40_000
	rows := Times{Exit: make([]float64, n), Status: make([]bool, n)}
	x := newMatrix(n, 1)
	for i := range n {
		rows.Status[i], x[i][0] = i%2 == 0, float64(i%3)
	}
	_, err := FitCox(rows, x, []string{"x"}, CoxOptions{Ties: TiesExact})
	if !errors.Is(err, ErrTooLarge) || !strings.Contains(err.Error(), "20000 events tied among 40000 at risk") {
		t.Errorf("%v", err)
	}
}

func TestCoxExactWithWeightsPanics(t *testing.T) {
	for _, opts := range []CoxOptions{
		{Ties: TiesExact, Weights: ones(6)},
		{Ties: TiesExact, Cluster: []int{1, 2, 3, 4, 5, 6}},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%+v was taken", opts)
				}
			}()
			_, _ = FitCox(pairRows, pairX, []string{"x"}, opts)
		}()
	}
}
