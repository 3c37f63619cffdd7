package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// twelveRows have the coefficient 0: exposed are 6 of 12 at risk at 1, where an
// exposed one has the event, 3 of 9 at 2 and 1 of 6 at 3, where others have it,
// so that the slope at 0 is 1/2 − 1/3 − 1/6.
func twelveRows() (Times, [][]float64) {
	var t Times
	var x [][]float64
	for _, row := range []struct {
		exit    float64
		event   bool
		exposed float64
		times   int
	}{{1, true, 1, 1}, {1.5, false, 1, 2}, {2, true, 0, 1}, {2.5, false, 1, 2}, {3, true, 0, 1}, {4, false, 1, 1}, {4, false, 0, 4}} {
		for range row.times {
			t.Exit, t.Status = append(t.Exit, row.exit), append(t.Status, row.event)
			x = append(x, []float64{row.exposed})
		}
	}
	return t, x
}

// By hand, with covariances 9/36, 8/36 and 5/36 in the risk sets and g = 1, 2, 3:
// U = 1/2 − 2/3 − 3/6 = −2/3 and C − B²/A = (86 − 40²/22)/36, so that the exact
// statistic is 88/73; with the mean covariance 22/108 at each event it is
// (4/9)(36/22)(3/2) = 12/11. Residuals are 108/22 times 1/2, −1/3 and −1/6.
func TestProportionalHazardsByHand(t *testing.T) {
	times, x := twelveRows()
	f, err := FitCox(times, x, []string{"exposed"}, CoxOptions{})
	must(t, err)
	exact, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: TimeIdentity})
	must(t, err)
	rough, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: TimeIdentity, Approximate: true})
	must(t, err)
	if !near(exact.Terms[0].Statistic, 88.0/73, 1e-12) || !near(exact.Global.Statistic, 88.0/73, 1e-12) || !near(rough.Global.Statistic, 12.0/11, 1e-12) {
		t.Errorf("exact %v, approximate %v", exact, rough)
	}
	// Ranks of the exits are 1, 4 and 7; 1 − S(t−) is 0, 1/12 and 1 − (11/12)(8/9).
	for scale, want := range map[string][]float64{
		TimeRank: {1, 4, 7}, TimeKaplanMeier: {0, 1.0 / 12, 20.0 / 108}, TimeLog: {0, math.Log(2), math.Log(3)},
	} {
		s, err := f.ScaledSchoenfeld(scale)
		must(t, err)
		for k, g := range s.ScaleTime {
			if !near(g, want[k], 1e-14) {
				t.Errorf("%s: %v, want %v", scale, s.ScaleTime, want)
			}
			if r := []float64{1.0 / 2, -1.0 / 3, -1.0 / 6}[k]; !near(s.Residual[k][0], r*108/22, 1e-12) {
				t.Errorf("residuals %v", s.Residual)
			}
		}
		if !near(s.Variance[0][0], 108.0/22, 1e-12) {
			t.Errorf("variance %v", s.Variance)
		}
		// Three knots through three points: the curve meets them.
		curve, err := s.Smooth(0, SmoothOptions{Knots: 3})
		must(t, err)
		for k := range curve.Time {
			if !near(curve.Smooth[k], curve.Residual[k], 1e-10) || !near(curve.SE[k], math.Sqrt(108.0/22), 1e-10) {
				t.Errorf("curve %v of %v, SE %v", curve.Smooth, curve.Residual, curve.SE)
			}
		}
		if _, err := s.Smooth(0, SmoothOptions{Knots: 4}); !errors.Is(err, ErrTooFewRows) && !errors.Is(err, ErrKnots) {
			t.Errorf("four knots through three points: %v", err)
		}
	}
}

// Nothing changes with the order of rows, the unit of covariates and of time, or
// the unit of weights but for the test, which grows with it; a row of weight 2
// is two rows.
func TestProportionalHazardsProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 72))
	compared := 0
	for range 60 {
		c := randomCoxCase(r, 40+r.IntN(60), TiesBreslow)
		c.Cluster = nil
		if c.Weight != nil {
			for i := range c.Weight {
				c.Weight[i] = float64(1 + r.IntN(2))
			}
		}
		f, err := FitCox(c.times(), c.X, c.terms(), c.options())
		if err != nil {
			continue
		}
		compared++
		other := coxCase{Ties: c.Ties}
		for _, i := range r.Perm(len(c.Exit)) {
			times := 1
			if c.Weight != nil {
				times = int(c.Weight[i])
			}
			for range times {
				other.Exit, other.Status = append(other.Exit, 7*c.Exit[i]), append(other.Status, c.Status[i])
				if c.Entry != nil {
					other.Entry = append(other.Entry, 7*c.Entry[i])
				}
				if c.Stratum != nil {
					other.Stratum = append(other.Stratum, -c.Stratum[i])
				}
				if c.Offset != nil {
					other.Offset = append(other.Offset, c.Offset[i]+3)
				}
				row := []float64{}
				for _, v := range c.X[i] {
					row = append(row, 5-20*v)
				}
				other.X = append(other.X, row)
			}
		}
		g, err := FitCox(other.times(), other.X, other.terms(), other.options())
		must(t, err)
		for _, scale := range []string{TimeIdentity, TimeLog} {
			a, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: scale})
			must(t, err)
			b, err := g.ProportionalHazards(ProportionalHazardsOptions{Time: scale})
			must(t, err)
			for j := range a.Terms {
				if !near(a.Terms[j].Statistic, b.Terms[j].Statistic, 1e-7) {
					t.Errorf("%s: %v and %v", scale, a.Terms[j].Statistic, b.Terms[j].Statistic)
				}
			}
			if !near(a.Global.Statistic, b.Global.Statistic, 1e-7) {
				t.Errorf("%s: %v and %v", scale, a.Global.Statistic, b.Global.Statistic)
			}
		}
		s, err := f.ScaledSchoenfeld(TimeIdentity)
		if errors.Is(err, ErrNoVariance) {
			continue
		}
		must(t, err)
		w, err := g.ScaledSchoenfeld(TimeIdentity)
		must(t, err)
		for j := range s.Terms {
			if !near(s.Variance[j][j], 400*w.Variance[j][j], 1e-7) {
				t.Errorf("variance %v and %v", s.Variance, w.Variance)
			}
			one, err := s.Smooth(j, SmoothOptions{})
			if errors.Is(err, ErrKnots) {
				continue // events of weight 2 are one for the quantiles
			}
			must(t, err)
			if c.Weight != nil {
				continue
			}
			two, err := w.Smooth(j, SmoothOptions{})
			must(t, err)
			for k := range one.Smooth {
				if !near(one.Smooth[k], -20*two.Smooth[k], 1e-6) {
					t.Errorf("smooth %v and %v", one.Smooth[k], -20*two.Smooth[k])
				}
			}
		}
	}
	if compared < 40 {
		t.Errorf("%d compared", compared)
	}
}

func TestProportionalHazardsRefuse(t *testing.T) {
	times, x := twelveRows()
	f, err := FitCox(times, x, []string{"exposed"}, CoxOptions{})
	must(t, err)
	panics(t, "time scale", func() { _, _ = f.ProportionalHazards(ProportionalHazardsOptions{Time: "sqrt"}) })
	panics(t, "column 1", func() {
		_, _ = f.ProportionalHazards(ProportionalHazardsOptions{Terms: []TermColumns{{"a", []int{1}}}})
	})
	panics(t, "without columns", func() { _, _ = f.ProportionalHazards(ProportionalHazardsOptions{Terms: []TermColumns{{"a", nil}}}) })
	panics(t, "no Cox model", func() { _, _ = Fit{}.ProportionalHazards(ProportionalHazardsOptions{}) })
	panics(t, "no Cox model", func() { _, _ = Fit{}.ScaledSchoenfeld("") })
	one := Times{Exit: []float64{1, 1, 2, 2}, Status: []bool{true, true, false, false}}
	f, err = FitCox(one, [][]float64{{1}, {0}, {1}, {0}}, []string{"x"}, CoxOptions{Cluster: []int{1, 2, 3, 4}})
	must(t, err)
	if _, err := f.ProportionalHazards(ProportionalHazardsOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("one event time: %v", err)
	}
	zero := Times{Exit: []float64{0, 1, 2, 3}, Status: []bool{true, true, true, false}}
	f, err = FitCox(zero, [][]float64{{1}, {0}, {1}, {0}}, []string{"x"}, CoxOptions{Weights: []float64{1, 2, 1, 1}})
	must(t, err)
	if _, err := f.ProportionalHazards(ProportionalHazardsOptions{Time: TimeLog}); !errors.Is(err, ErrTimeNotPositive) {
		t.Errorf("logarithm of 0: %v", err)
	}
	r, err := f.ProportionalHazards(ProportionalHazardsOptions{})
	must(t, err)
	if !warned(r.Global.Warnings, "model-based") {
		t.Errorf("weights: %v", r.Global.Warnings)
	}
	// A column that varies in one risk set only shows no change.
	f, err = FitCox(Times{Exit: []float64{1, 1, 1, 2, 3, 4}, Status: []bool{true, true, false, true, true, false}},
		[][]float64{{1}, {0}, {1}, {0}, {0}, {0}}, []string{"x"}, CoxOptions{})
	must(t, err)
	r, err = f.ProportionalHazards(ProportionalHazardsOptions{})
	must(t, err)
	if !math.IsNaN(r.Global.P) || !warned(r.Global.Warnings, "not-estimable") {
		t.Errorf("one risk set: %v", r.Global)
	}
	panics(t, "column 2 of 1", func() {
		times, x := twelveRows()
		f, _ := FitCox(times, x, []string{"exposed"}, CoxOptions{})
		s, _ := f.ScaledSchoenfeld("")
		_, _ = s.Smooth(2, SmoothOptions{})
	})
}

func ExampleFit_ProportionalHazards() {
	times, x := twelveRows()
	f, _ := FitCox(times, x, []string{"exposed"}, CoxOptions{})
	r, _ := f.ProportionalHazards(ProportionalHazardsOptions{Time: TimeIdentity})
	fmt.Printf("%s: chi-squared %.3f, P %.2f\n", r.Terms[0].Name, r.Terms[0].Statistic, r.Terms[0].P)
	// Output: exposed: chi-squared 1.205, P 0.27
}
