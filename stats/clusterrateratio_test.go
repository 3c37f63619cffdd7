package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Two children: the first with a first event in 10 days and one recurrence in
// 10, the second with none in 10 and none in 30. R1 = 1/40, R0 = 1/20, ratio
// 1/2; u = (1 − 1/4) − (1 − 1/2) = 1/4 and −3/4 + 1/2 = −1/4: SE² = 2·2/16.
func TestClusterRateRatioByHand(t *testing.T) {
	e, err := ClusterRateRatio(ClusterEvents{[]float64{1, 0}, []float64{10, 30}}, ClusterEvents{[]float64{1, 0}, []float64{10, 10}}, LimitOptions{})
	must(t, err)
	if !near(e.Value, 0.5, 1e-15) || !near(e.SE, 0.5, 1e-15) || !near(e.Lower, 0.5*math.Exp(-1.959963984540054/2), 1e-9) ||
		!near(e.P, math.Erfc(math.Log(2)/0.5/math.Sqrt2), 1e-12) || !warned(e.Warnings, "few-clusters") {
		t.Errorf("%+v", e)
	}
}

// The same as a log-linear model of one row a child and kind, with robust
// errors, fitted by iteration: to 1e-8.
func TestClusterRateRatioModel(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 8))
	for range 500 {
		var one, zero ClusterEvents
		var x [][]float64
		var events, time []float64
		var ids []int
		for child := range 4 + r.IntN(60) {
			for k, c := range []*ClusterEvents{&zero, &one} {
				d, t := float64(r.IntN(3)), 1+99*r.Float64()
				if r.IntN(5) == 0 {
					d, t = 0, 0
				} else {
					x, events, time = append(x, []float64{float64(k)}), append(events, d), append(time, t)
					ids = append(ids, child)
				}
				c.Events, c.PersonTime = append(c.Events, d), append(c.PersonTime, t)
			}
		}
		e, err := ClusterRateRatio(one, zero, LimitOptions{Level: 0.9})
		if errors.Is(err, ErrZeroCell) || errors.Is(err, ErrNoPersonTime) {
			continue
		}
		must(t, err)
		fit, err := FitPoisson(x, []string{"one"}, events, time, GLMOptions{Cluster: ids, Level: 0.9})
		must(t, err)
		want := fit.Estimates[0]
		if !near(e.Value, want.Value, 1e-8) || !near(e.SE, fit.SE[1], 1e-8) || !near(e.Upper, want.Upper, 1e-8) || !near(e.P, want.P, 1e-8) {
			t.Fatalf("%+v, by the model %+v", e, want)
		}
	}
}

func TestClusterRateRatioRefuses(t *testing.T) {
	two := func(a, b, c, d float64) ClusterEvents { return ClusterEvents{[]float64{a, b}, []float64{c, d}} }
	for _, c := range []struct {
		one, zero ClusterEvents
		want      error
	}{
		{two(1, 0, 0, 0), two(1, 0, 5, 5), ErrNoPersonTime},
		{ClusterEvents{}, ClusterEvents{}, ErrNoPersonTime},
		{two(0, 0, 5, 5), two(1, 0, 5, 5), ErrZeroCell},
		{two(1, 0, 5, 5), two(0, 0, 5, 5), ErrZeroCell},
		{two(-1, 0, 5, 5), two(1, 0, 5, 5), ErrNegative},
		{two(1, math.NaN(), 5, 5), two(1, 0, 5, 5), ErrNotFinite},
		{two(1, 0, 5, 0), two(1, 0, 5, 0), ErrTooFewClusters},
	} {
		if _, err := ClusterRateRatio(c.one, c.zero, LimitOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%v against %v: %v, want %v", c.one, c.zero, err, c.want)
		}
	}
	panics(t, "of clusters", func() { _, _ = ClusterRateRatio(ClusterEvents{}, two(1, 1, 1, 1), LimitOptions{}) })
}
