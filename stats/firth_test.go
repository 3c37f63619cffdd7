package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestFirthPublished(t *testing.T) {
	want := published.Load(t, "heinze-schemper-2002")
	nv, pi, eh, hg := want.Floats("NV"), want.Floats("PI"), want.Floats("EH"), want.Ints("HG")
	var x [][]float64
	var y []bool
	for i := range nv {
		x, y = append(x, []float64{nv[i], pi[i], eh[i]}), append(y, hg[i] == 1)
	}
	f, err := FitFirth(x, []string{"NV", "PI", "EH"}, y, FirthOptions{})
	must(t, err)
	for j, term := range f.Terms {
		want.Check(term, f.Coefficients[j])
		want.Check("SE of "+term, f.SE[j])
	}
	if _, err := FitLogistic(x, []string{"NV", "PI", "EH"}, y, GLMOptions{}); !errors.Is(err, ErrSeparation) {
		t.Errorf("plain logistic regression: %v, want separation", err)
	}
	if e := f.Estimates[0]; !(e.Lower > 1 && !math.IsInf(e.Upper, 0) && e.P < 0.05) {
		t.Errorf("the separated covariate: %+v", e)
	}
}

// In a 2 × 2 table the penalty adds ½ to each cell.
func TestFirthTwoByTwo(t *testing.T) {
	for _, c := range [][4]int{{3, 7, 0, 12}, {5, 5, 4, 9}, {6, 0, 2, 8}} {
		var x [][]float64
		var y []bool
		for k, n := range c {
			for range n {
				x, y = append(x, []float64{float64(1 - k/2)}), append(y, k%2 == 0)
			}
		}
		f, err := FitFirth(x, []string{"exposed"}, y, FirthOptions{})
		must(t, err)
		a, b, d, e := float64(c[0])+0.5, float64(c[1])+0.5, float64(c[2])+0.5, float64(c[3])+0.5
		if !near(f.Estimates[0].Value, a*e/(b*d), 1e-8) {
			t.Errorf("%v: odds ratio %v, want %v", c, f.Estimates[0].Value, a*e/(b*d))
		}
	}
}

// A plain second implementation: the penalised likelihood written out, climbed
// by coordinate search from 0, never finds a better place, and its fall at a
// limit is the chi-squared quantile.
func TestFirthIsOptimal(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 93))
	for range 25 {
		n := 12 + r.IntN(20)
		var x [][]float64
		var y []bool
		for range n {
			a := float64(r.IntN(2))
			x, y = append(x, []float64{a, r.NormFloat64()}), append(y, r.Float64() < 0.2+0.5*a)
		}
		f, err := FitFirth(x, []string{"a", "b"}, y, FirthOptions{})
		if errors.Is(err, ErrNoEvents) || errors.Is(err, ErrNoVariance) || errors.Is(err, ErrCollinear) {
			continue
		}
		must(t, err)
		plain := func(b []float64) float64 {
			sum := 0.0
			var info [3][3]float64
			for i, row := range x {
				v := [3]float64{1, row[0], row[1]}
				eta := b[0]*v[0] + b[1]*v[1] + b[2]*v[2]
				p := 1 / (1 + math.Exp(-eta))
				if y[i] {
					sum += math.Log(p)
				} else {
					sum += math.Log(1 - p)
				}
				for j := range 3 {
					for k := range 3 {
						info[j][k] += p * (1 - p) * v[j] * v[k]
					}
				}
			}
			det := info[0][0]*(info[1][1]*info[2][2]-info[1][2]*info[2][1]) - info[0][1]*(info[1][0]*info[2][2]-info[1][2]*info[2][0]) + info[0][2]*(info[1][0]*info[2][1]-info[1][1]*info[2][0])
			return sum + math.Log(det)/2
		}
		climb := func(b []float64, fixed int) float64 {
			best := plain(b)
			for step := 1.0; step > 1e-7; {
				better := false
				for j := range b {
					if j == fixed {
						continue
					}
					for _, d := range []float64{step, -step} {
						b[j] += d
						if l := plain(b); l > best {
							best, better = l, true
						} else {
							b[j] -= d
						}
					}
				}
				if !better {
					step /= 2
				}
			}
			return best
		}
		at := plain(f.Coefficients)
		if !near(f.LogLik, at, 1e-10) {
			t.Fatalf("penalised likelihood %v, written out %v", f.LogLik, at)
		}
		if best := climb([]float64{0, 0, 0}, -1); best > at+1e-9 {
			t.Fatalf("penalised likelihood %v, climbing finds %v", at, best)
		}
		upper := math.Log(f.Estimates[0].Upper)
		start := append([]float64{}, f.Coefficients...)
		start[1] = upper
		if fall := 2 * (at - climb(start, 1)); !math.IsInf(upper, 0) && !near(fall, 3.841458820694124, 1e-5) {
			t.Errorf("at the upper limit the likelihood falls by %v", fall)
		}
	}
}

func TestFirthRefuses(t *testing.T) {
	x := [][]float64{{0}, {1}, {0}, {1}}
	for _, c := range []struct {
		name string
		x    [][]float64
		y    []bool
		want error
	}{
		{"nothing", nil, nil, ErrNoData},
		{"no events", x, []bool{false, false, false, false}, ErrNoEvents},
		{"all events", x, []bool{true, true, true, true}, ErrNoVariance},
		{"a constant column", [][]float64{{1}, {1}, {1}}, []bool{true, false, true}, ErrCollinear},
	} {
		if _, err := FitFirth(c.x, []string{"x"}, c.y, FirthOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

// Profile limits of a 2 × 2 table, the likelihood written out: its fall at the
// limits is the quantile, and P is that of the likelihood ratio.
func TestLogisticProfileByHand(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 94))
	for range 40 {
		c := [4]int{1 + r.IntN(9), 1 + r.IntN(9), 1 + r.IntN(9), 1 + r.IntN(9)}
		var x [][]float64
		var y []bool
		for k, n := range c {
			for range n {
				x, y = append(x, []float64{float64(1 - k/2)}), append(y, k%2 == 0)
			}
		}
		list, err := LogisticProfile(x, []string{"exposed"}, y, GLMOptions{})
		must(t, err)
		e := list[0]
		g, err := LikelihoodRatio([][]int{{c[0], c[1]}, {c[2], c[3]}})
		must(t, err)
		if !near(e.P, g.P, 1e-9) {
			t.Errorf("%v: P %v, want %v", c, e.P, g.P)
		}
		// The largest likelihood with the log odds ratio held, by golden section
		// over the intercept.
		logLik := func(b0, b float64) float64 {
			p1, p0 := 1/(1+math.Exp(-b0-b)), 1/(1+math.Exp(-b0))
			return float64(c[0])*math.Log(p1) + float64(c[1])*math.Log(1-p1) + float64(c[2])*math.Log(p0) + float64(c[3])*math.Log(1-p0)
		}
		profile := func(b float64) float64 {
			lo, hi := -12.0, 12.0
			for range 200 {
				x1, x2 := hi-0.618033988749895*(hi-lo), lo+0.618033988749895*(hi-lo)
				if logLik(x1, b) < logLik(x2, b) {
					lo = x1
				} else {
					hi = x2
				}
			}
			return logLik((lo+hi)/2, b)
		}
		top := profile(math.Log(e.Value))
		for _, limit := range []float64{e.Lower, e.Upper} {
			if fall := 2 * (top - profile(math.Log(limit))); !near(fall, 3.841458820694124, 1e-6) {
				t.Errorf("%v: at %v the likelihood falls by %v", c, limit, fall)
			}
		}
	}
}
