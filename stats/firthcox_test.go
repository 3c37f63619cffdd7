package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
)

// plainFirthCox is the penalised log partial likelihood as its definition writes
// it, risk set by risk set.
func plainFirthCox(c coxCase, beta []float64) float64 {
	p := len(beta)
	t := c.times()
	information := mat.NewSymDense(p, nil)
	sum := 0.0
	eta := func(i int) float64 {
		e := dot(c.X[i], beta)
		if c.Offset != nil {
			e += c.Offset[i]
		}
		return e
	}
	for i := range t.Exit {
		if !t.Status[i] {
			continue
		}
		var rows []int
		largest := math.Inf(-1)
		for j := range t.Exit {
			if (c.Stratum == nil || c.Stratum[i] == c.Stratum[j]) && t.Exit[j] >= t.Exit[i] && (t.Entry == nil || t.Entry[j] < t.Exit[i]) {
				rows = append(rows, j)
				largest = math.Max(largest, eta(j))
			}
		}
		total := 0.0
		mean := make([]float64, p)
		for _, j := range rows {
			w := math.Exp(eta(j) - largest)
			total += w
			for k, v := range c.X[j] {
				mean[k] += w * v
			}
		}
		for k := range mean {
			mean[k] /= total
		}
		sum += eta(i) - largest - math.Log(total)
		for _, j := range rows {
			y := make([]float64, p)
			for k, v := range c.X[j] {
				y[k] = v - mean[k]
			}
			information.SymRankOne(information, math.Exp(eta(j)-largest)/total, mat.NewVecDense(p, y))
		}
	}
	det := mat.Det(information)
	if !(det > 0) {
		return math.Inf(-1)
	}
	return sum + math.Log(det)/2
}

// plainFirthCoxProfile is the largest value found by simplex searches from
// several places with coefficient j held; j below 0 holds none.
func plainFirthCoxProfile(r *rand.Rand, c coxCase, j int, held float64) float64 {
	p := len(c.X[0])
	full := func(free []float64) []float64 {
		out := append([]float64{}, free...)
		if j >= 0 {
			out = append(append(append([]float64{}, free[:j]...), held), free[j:]...)
		}
		return out
	}
	if j >= 0 && p == 1 {
		return plainFirthCox(c, []float64{held})
	}
	best := math.Inf(-1)
	for start := range 8 {
		var from []float64
		for k := range p {
			if k != j {
				from = append(from, r.NormFloat64()*float64(start)/3)
			}
		}
		best = math.Max(best, simplexSearch(from, func(free []float64) float64 { return plainFirthCox(c, full(free)) }))
	}
	return best
}

// sparseCoxCase is so small that about half have a monotone likelihood.
func sparseCoxCase(r *rand.Rand) coxCase {
	c := coxCase{Ties: TiesBreslow}
	n, p := 8+r.IntN(16), 1+r.IntN(2)
	late, stratified, offset := r.IntN(2) == 1, r.IntN(3) == 0, r.IntN(3) == 0
	for range n {
		row := []float64{float64(r.IntN(2)), r.NormFloat64()}[:p]
		entry := float64(r.IntN(4))
		if !late {
			entry = 0
		}
		c.Entry = append(c.Entry, entry)
		c.Exit = append(c.Exit, entry+float64(1+r.IntN(10)))
		status := 0
		if r.Float64() < 0.1+0.5*row[0] {
			status = 1
		}
		c.Status, c.X = append(c.Status, status), append(c.X, row)
		if stratified {
			c.Stratum = append(c.Stratum, r.IntN(2))
		}
		if offset {
			c.Offset = append(c.Offset, float64(r.IntN(3))/2)
		}
	}
	if !late {
		c.Entry = nil
	}
	return c
}

// TestFirthCoxMeetsItsEquations holds estimates, limits, P and the slope of small
// data, many of them with a monotone likelihood, against the likelihood written
// out and its maximum found without derivatives.
func TestFirthCoxMeetsItsEquations(t *testing.T) {
	r := rand.New(rand.NewPCG(32, 7))
	fits, limits, refused, monotone := 0, 0, 0, 0
	for range 14 {
		c := sparseCoxCase(r)
		opts := FirthCoxOptions{Strata: c.Stratum, Offset: c.Offset}
		f, err := FitFirthCox(c.times(), c.X, c.terms(), opts)
		if err != nil {
			if errors.Is(err, ErrNotConverged) || errors.Is(err, ErrSeparation) {
				refused++
			}
			continue
		}
		fits++
		if _, err := FitCox(c.times(), c.X, c.terms(), c.options()); errors.Is(err, ErrSeparation) {
			monotone++
		}
		if at := plainFirthCox(c, f.Coefficients); !near(f.LogLik, at, 1e-9) {
			t.Errorf("penalised log likelihood %v, written out %v", f.LogLik, at)
		}
		for _, slope := range fd.Gradient(nil, func(b []float64) float64 { return plainFirthCox(c, b) }, f.Coefficients, &fd.Settings{Formula: fd.Central, Step: 1e-5}) {
			if math.Abs(slope) > 1e-6 {
				t.Errorf("slope %v at the estimate", slope)
			}
		}
		largest := plainFirthCoxProfile(r, c, -1, 0)
		if math.Abs(largest-f.LogLik) > 1e-6 {
			t.Errorf("penalised log likelihood %.9f, a search without derivatives finds %.9f", f.LogLik, largest)
		}
		for j, e := range f.Estimates {
			if want := chiSquaredTail(2*(largest-plainFirthCoxProfile(r, c, j, 0)), 1); math.Abs(e.P-want) > 1e-4 {
				t.Errorf("%s: P %v, want %v", e.Term, e.P, want)
			}
			for _, limit := range []float64{e.Lower, e.Upper} {
				if limit == 0 || math.IsInf(limit, 1) {
					continue
				}
				limits++
				if fall := 2 * (largest - plainFirthCoxProfile(r, c, j, math.Log(limit))); math.Abs(fall-3.841458820694124) > 1e-4 {
					t.Errorf("%s: at the limit %g twice the fall is %g", e.Term, limit, fall)
				}
			}
		}
	}
	if fits < 10 || monotone < 4 || refused > 0 || limits < 25 {
		t.Errorf("%d fits, %d monotone, %d limits, %d refused", fits, monotone, limits, refused)
	}
	t.Logf("%d fits, %d monotone, %d limits", fits, monotone, limits)
}

// By hand: of two exposed and three others at risk one exposed has the only
// event. With s the exposed's share of the hazard the slope is
// 1 − s + ½ (1 − 2s) = 0, so that s = 3/4 and the ratio is 3 (3/2) = 9/2.
// l* is log s/2 + ½ log s(1−s), and 2/5 is s at a ratio of 1.
func TestFirthCoxByHand(t *testing.T) {
	times := Times{Exit: []float64{1, 2, 2, 2, 2}, Status: []bool{true, false, false, false, false}}
	x := [][]float64{{1}, {1}, {0}, {0}, {0}}
	if _, err := FitCox(times, x, []string{"exposed"}, CoxOptions{}); !errors.Is(err, ErrSeparation) {
		t.Fatalf("FitCox: %v", err)
	}
	f, err := FitFirthCox(times, x, []string{"exposed"}, FirthCoxOptions{})
	must(t, err)
	e := f.Estimates[0]
	star := func(s float64) float64 { return math.Log(s/2) + math.Log(s*(1-s))/2 }
	if !near(e.Value, 4.5, 1e-9) || !near(f.LogLik, star(0.75), 1e-12) || !near(f.NullLogLik, star(0.4), 1e-12) ||
		!near(e.SE, 1/math.Sqrt(3.0/16), 1e-9) || !near(e.P, chiSquaredTail(2*(star(0.75)-star(0.4)), 1), 1e-9) {
		t.Errorf("%+v, log likelihoods %v, %v", e, f.LogLik, f.NullLogLik)
	}
	for _, limit := range []float64{e.Lower, e.Upper} {
		if s := limit * 2 / (limit*2 + 3); !near(2*(star(0.75)-star(s)), 3.841458820694124, 1e-7) {
			t.Errorf("limit %v", limit)
		}
	}
	if !warned(f.Warnings, "few-events") {
		t.Error("no warning of few events")
	}
	panics(t, "no Cox model", func() { f.CoxResiduals() })
}

// Units of the columns, the order of rows and rows never at risk change nothing,
// and with many events the penalty hardly counts.
func TestFirthCoxProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(32, 8))
	for range 15 {
		c := sparseCoxCase(r)
		opts := FirthCoxOptions{Strata: c.Stratum, Offset: c.Offset}
		f, err := FitFirthCox(c.times(), c.X, c.terms(), opts)
		if err != nil {
			continue
		}
		var other coxCase
		for i := len(c.Exit) - 1; i >= 0; i-- {
			row := []float64{}
			for _, v := range c.X[i] {
				row = append(row, 100*v-3)
			}
			other.X, other.Exit, other.Status = append(other.X, row), append(other.Exit, c.Exit[i]), append(other.Status, c.Status[i])
			if c.Entry != nil {
				other.Entry = append(other.Entry, c.Entry[i])
			}
			if c.Stratum != nil {
				other.Stratum = append(other.Stratum, c.Stratum[i])
			}
			if c.Offset != nil {
				other.Offset = append(other.Offset, c.Offset[i])
			}
		}
		g, err := FitFirthCox(other.times(), other.X, other.terms(), FirthCoxOptions{Strata: other.Stratum, Offset: other.Offset})
		must(t, err)
		for j, e := range f.Estimates {
			o := g.Estimates[j]
			if !near(f.Coefficients[j], 100*g.Coefficients[j], 1e-7) || !near(math.Log(e.Lower), 100*math.Log(o.Lower), 1e-6) ||
				!near(math.Log(e.Upper), 100*math.Log(o.Upper), 1e-6) || !near(e.P, o.P, 1e-7) {
				t.Errorf("%+v and %+v", e, o)
			}
		}
	}
	big := randomCase(r, 4000, true)
	plain, err := FitCox(big.times(), big.X, big.terms(), CoxOptions{Ties: TiesBreslow})
	must(t, err)
	f, err := FitFirthCox(big.times(), big.X, big.terms(), FirthCoxOptions{})
	must(t, err)
	for j := range f.Coefficients {
		if math.Abs(f.Coefficients[j]-plain.Coefficients[j]) > 0.05*plain.SE[j] {
			t.Errorf("%v, without penalty %v", f.Coefficients, plain.Coefficients)
		}
	}
}

func TestFirthCoxRefuses(t *testing.T) {
	times := Times{Exit: []float64{1, 2, 3}, Status: []bool{true, true, false}}
	x := [][]float64{{1}, {0}, {1}}
	for _, c := range []struct {
		times Times
		x     [][]float64
		opts  FirthCoxOptions
		want  error
	}{
		{Times{}, nil, FirthCoxOptions{}, ErrNoData},
		{Times{Exit: times.Exit, Status: make([]bool, 3)}, x, FirthCoxOptions{}, ErrNoEvents},
		{times, [][]float64{{1}, {1}, {1}}, FirthCoxOptions{}, ErrCollinear},
		{times, [][]float64{{1}, {math.NaN()}, {1}}, FirthCoxOptions{}, ErrNotFinite},
		{times, x, FirthCoxOptions{Offset: []float64{0, math.Inf(1), 0}}, ErrNotFinite},
		{Times{Entry: []float64{1, 0, 0}, Exit: times.Exit, Status: times.Status}, x, FirthCoxOptions{}, ErrEntryAfterExit},
	} {
		if _, err := FitFirthCox(c.times, c.x, []string{"x"}, c.opts); !errors.Is(err, c.want) {
			t.Errorf("%v, want %v", err, c.want)
		}
	}
	panics(t, "strata", func() { _, _ = FitFirthCox(times, x, []string{"x"}, FirthCoxOptions{Strata: []int{1}}) })
}

func ExampleFitFirthCox() {
	times := Times{Exit: []float64{3, 5, 6, 8, 9, 9, 10, 12}, Status: []bool{true, true, false, true, false, false, false, false}}
	x := [][]float64{{1}, {1}, {0}, {1}, {0}, {1}, {0}, {0}}
	_, err := FitCox(times, x, []string{"exposed"}, CoxOptions{})
	fmt.Println(errors.Is(err, ErrSeparation))
	f, _ := FitFirthCox(times, x, []string{"exposed"}, FirthCoxOptions{})
	fmt.Printf("finite: %v\n", f.Estimates[0].Value > 1 && !math.IsInf(f.Estimates[0].Value, 1))
	// Output:
	// true
	// finite: true
}
