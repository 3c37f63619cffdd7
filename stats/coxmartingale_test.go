package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// At the ratio 2 of the pairs each event has the hazard 1/3 for x = 0 and 2/3
// for x = 1.
func TestCoxResidualsByHand(t *testing.T) {
	for _, ties := range []string{TiesEfron, TiesBreslow} {
		r := mustCox(t, pairRows, pairX, []string{"x"}, CoxOptions{Ties: ties}).CoxResiduals()
		for i, want := range []struct{ martingale, score float64 }{
			{1. / 3, 1. / 9},
			{-1. / 3, 2. / 9},
			{1. / 3, 1. / 9},
			{-1. / 3, 2. / 9},
			{-2. / 3, -2. / 9},
			{2. / 3, -4. / 9},
		} {
			deviance := -math.Sqrt(-2 * want.martingale)
			if pairRows.Status[i] {
				deviance = math.Sqrt(-2 * (want.martingale + math.Log(1-want.martingale)))
			}
			if !near(r.Martingale[i], want.martingale, 1e-12) || !near(r.Deviance[i], deviance, 1e-12) ||
				!near(r.Score[i][0], want.score, 1e-12) || !near(r.DFBeta[i][0], 1.5*want.score, 1e-12) {
				t.Errorf("row %d: %v %v %v %v, want %+v and %v", i+1, r.Martingale[i], r.Deviance[i], r.Score[i], r.DFBeta[i], want, deviance)
			}
		}
	}
}

// After k events the hazard for x = 0 is k/3 with the variance k/9 of the counts
// and, x̄ being 2/3, (2k/9)² 3/2 of the coefficient; for x = 1 it is twice that,
// and the mean's distance -1/3.
func TestCumulativeHazardsByHand(t *testing.T) {
	f := mustCox(t, pairRows, pairX, []string{"x"}, CoxOptions{})
	for _, c := range []struct {
		x        []float64
		times, a float64
	}{{nil, 1, 2. / 9}, {[]float64{0}, 1, 2. / 9}, {[]float64{1}, 2, -1. / 9}} {
		got, err := f.CumulativeHazards(c.x)
		if err != nil || len(got) != 1 || len(got[0].Time) != 3 {
			t.Fatalf("%v %v", got, err)
		}
		for i := range 3 {
			k := float64(i + 1)
			se := c.times * math.Sqrt(k/9+k*k*c.a*c.a*1.5)
			if h := got[0]; h.Time[i] != k || h.AtRisk[i] != 2 || h.Events[i] != 1 || !near(h.Hazard[i], c.times*k/3, 1e-12) || !near(h.SE[i], se, 1e-12) {
				t.Errorf("x = %v: %+v, want %v (%v)", c.x, h, c.times*k/3, se)
			}
		}
	}
	if _, err := f.CumulativeHazards([]float64{math.NaN()}); err == nil {
		t.Error("a missing covariate was taken")
	}
	if got, err := f.CumulativeHazards([]float64{2000}); err == nil {
		t.Errorf("a hazard beyond all numbers: %+v", got)
	}
}

// Weighted martingale residuals and score residuals add up to 0; the outer
// products of what clusters do to the coefficients are the robust covariance;
// with x a row's own covariates its expected events are the hazard over its
// time (Breslow's ties).
func TestCoxResidualsProperties(t *testing.T) {
	eachCoxCase(t, 8, func(_ *rand.Rand, c coxCase, f Fit) {
		if c.Ties == TiesExact {
			return
		}
		r := f.CoxResiduals()
		p := len(f.Coefficients)
		sum, scale, sums := 0.0, 0.0, make([]float64, p)
		for i, v := range r.Martingale {
			w := 1.0
			if c.Weight != nil {
				w = c.Weight[i]
			}
			sum += w * v
			scale += w
			for j, u := range r.Score[i] {
				sums[j] += u
			}
		}
		if math.Abs(sum) > 1e-10*scale {
			t.Errorf("martingale residuals add up to %v", sum)
		}
		for j, u := range sums {
			if math.Abs(u) > 1e-7*scale {
				t.Errorf("score residuals of term %d add up to %v", j, u)
			}
		}
		if c.Cluster != nil {
			for j, row := range f.Covariance {
				for k, want := range row {
					got := 0.0
					for _, change := range sumByCluster(r.DFBeta, c.Cluster, p) {
						got += change[j] * change[k]
					}
					if !near(got, want, 1e-10) {
						t.Errorf("outer products %v, robust covariance %v", got, want)
					}
				}
			}
		}
		if c.Ties != TiesBreslow || c.Offset != nil {
			return
		}
		for i, x := range c.X {
			hazards, err := f.CumulativeHazards(x)
			if err != nil {
				t.Fatal(err)
			}
			expected := 0.0
			for _, h := range hazards {
				if c.Stratum != nil && h.Stratum != c.Stratum[i] {
					continue
				}
				for k, at := range h.Time {
					if at <= c.Exit[i] {
						expected = h.Hazard[k]
					}
				}
				if c.Entry != nil {
					before := 0.0
					for k, at := range h.Time {
						if at <= c.Entry[i] {
							before = h.Hazard[k]
						}
					}
					expected -= before
				}
			}
			if want := float64(c.Status[i]) - r.Martingale[i]; !near(expected, want, 1e-10) {
				t.Errorf("row %d: hazard %v, expected events %v", i+1, expected, want)
			}
		}
	})
}

// To first order DFBeta is what leaving out a row does. A row moves a coefficient
// by up to a fifth of its error, of which the second order is the square.
func TestDFBetaIsOneStep(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 14))
	c := randomCase(r, 400, true)
	f := mustCox(t, c.times(), c.X, c.terms(), CoxOptions{Ties: TiesBreslow})
	influence := f.CoxResiduals().DFBeta
	for i := 0; i < 400; i += 23 {
		var rest []int
		for k := range c.X {
			if k != i {
				rest = append(rest, k)
			}
		}
		without := c.pick(rest)
		g := mustCox(t, without.times(), without.X, without.terms(), CoxOptions{Ties: TiesBreslow})
		for j := range f.Coefficients {
			if change := f.Coefficients[j] - g.Coefficients[j]; math.Abs(change-influence[i][j]) > 0.04*f.SE[j] {
				t.Errorf("row %d: %v, in truth %v (SE %v)", i+1, influence[i][j], change, f.SE[j])
			}
		}
	}
}

func TestCoxResidualsPanics(t *testing.T) {
	exact := mustCox(t, pairRows, pairX, []string{"x"}, CoxOptions{Ties: TiesExact})
	for name, f := range map[string]func(){
		"exact":         func() { exact.CoxResiduals() },
		"exact hazards": func() { _, _ = exact.CumulativeHazards(nil) },
		"another model": func() { fitOfThree(0).CoxResiduals() },
		"another length": func() {
			f := mustCox(t, pairRows, pairX, []string{"x"}, CoxOptions{})
			_, _ = f.CumulativeHazards([]float64{1, 2})
		},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s was taken", name)
				}
			}()
			f()
		}()
	}
}
