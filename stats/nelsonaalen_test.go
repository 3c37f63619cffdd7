package stats

import (
	"errors"
	"math"
	"testing"
)

// By hand, on lateRows: 1 of 4 at 4, 2 of 5 at 6, 1 of 2 at 9.
func TestNelsonAalenByHand(t *testing.T) {
	c, err := NelsonAalen(lateRows, CurveOptions{})
	must(t, err)
	for i, want := range []float64{1.0 / 4, 13.0 / 20, 23.0 / 20, 23.0 / 20} {
		exactly(t, "hazard", c.Hazard[i], want)
	}
	exactly(t, "SE at 6", c.SE[1], math.Sqrt(1.0/16+2.0/25))
	// Log limits of H are the log-log limits of exp(−H) with its SE.
	lower, upper := transformedLimits(math.Exp(-0.65), math.Exp(-0.65)*c.SE[1], criticalZ(0.95), LimitsLogLog)
	if !near(c.Lower[1], -math.Log(upper), 1e-12) || !near(c.Upper[1], -math.Log(lower), 1e-12) {
		t.Errorf("limits %v to %v, want %v to %v", c.Lower[1], c.Upper[1], -math.Log(upper), -math.Log(lower))
	}
	c, err = NelsonAalen(lateRows, CurveOptions{Limits: LimitsArcsine})
	must(t, err)
	lower, upper = transformedLimits(math.Exp(-0.65), math.Exp(-0.65)*c.SE[1], criticalZ(0.95), LimitsArcsine)
	if !near(c.Lower[1], -math.Log(upper), 1e-12) || !near(c.Upper[1], -math.Log(lower), 1e-12) {
		t.Errorf("arcsine limits %v to %v, want %v to %v", c.Lower[1], c.Upper[1], -math.Log(upper), -math.Log(lower))
	}
}

func TestNelsonAalenEdges(t *testing.T) {
	if _, err := NelsonAalen(Times{}, CurveOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("no rows: %v", err)
	}
	c, err := NelsonAalen(Times{Exit: []float64{3}, Status: []bool{false}}, CurveOptions{})
	if err != nil || c.Hazard[0] != 0 || !math.IsNaN(c.Lower[0]) || !math.IsNaN(c.Upper[0]) {
		t.Errorf("no event: %+v, %v", c, err)
	}
}

// Rows that are their own clusters have Greenwood's error without late entry; a
// weight of 2 is a row written twice with both in one cluster.
func TestRobustCurveByHand(t *testing.T) {
	rows := Times{Exit: []float64{5, 3, 7, 3, 8, 5}, Status: []bool{true, false, false, true, true, true}}
	plain := mustCurve(t, rows, CurveOptions{})
	robust := mustCurve(t, rows, CurveOptions{Cluster: []int{1, 2, 3, 4, 5, 6}})
	for i := range plain.Time {
		if !near(robust.SE[i], plain.SE[i], 1e-14) {
			t.Errorf("at %v: robust %v, Greenwood %v", plain.Time[i], robust.SE[i], plain.SE[i])
		}
	}
	weighed := mustCurve(t, rows, CurveOptions{Weights: []float64{2, 1, 1, 1, 1, 1}})
	twice := Times{Exit: append([]float64{5}, rows.Exit...), Status: append([]bool{true}, rows.Status...)}
	doubled := mustCurve(t, twice, CurveOptions{Cluster: []int{1, 1, 2, 3, 4, 5, 6}})
	for i := range weighed.Time {
		if !near(weighed.Survival[i], doubled.Survival[i], 1e-14) || !near(weighed.SE[i], doubled.SE[i], 1e-14) {
			t.Errorf("at %v: weight %v (%v), written twice %v (%v)", weighed.Time[i], weighed.Survival[i], weighed.SE[i], doubled.Survival[i], doubled.SE[i])
		}
	}
	for _, c := range []struct {
		opts CurveOptions
		want error
	}{
		{CurveOptions{Cluster: []int{1, 1, 1, 1, 1, 1}}, ErrTooFewClusters},
		{CurveOptions{Weights: []float64{1, 1, 0, 1, 1, 1}}, ErrNotPositive},
		{CurveOptions{Weights: []float64{1, 1, 1, math.Inf(1), 1, 1}}, ErrNotPositive},
	} {
		if _, err := KaplanMeier(rows, c.opts); !errors.Is(err, c.want) {
			t.Errorf("%+v: %v, want %v", c.opts, err, c.want)
		}
	}
}

// TestRobustHazardByHand works the influences out: children 1 (events at 2 and 4)
// and 2 (event at 3, censored at 5) give H 1/4, 1/4 + 1/3, 1/4 + 1/3 + 1/2.
func TestRobustHazardByHand(t *testing.T) {
	c, err := NelsonAalen(Times{Exit: []float64{2, 4, 3, 5}, Status: []bool{true, true, true, false}}, CurveOptions{Cluster: []int{1, 1, 2, 2}})
	must(t, err)
	// At 2 each row at risk has 1/16, the event 1/4 besides: ±(1/4 − 2/16).
	exactly(t, "SE at 2", c.SE[0], math.Sqrt(2*(1.0/8)*(1.0/8)))
	// At 3 child 1 has one row at risk, child 2 two and the event.
	one, two := 1.0/8-1.0/9, -1.0/8-2.0/9+1.0/3
	exactly(t, "SE at 3", c.SE[1], math.Sqrt(one*one+two*two))
	one, two = one-1.0/4+1.0/2, two-1.0/4
	exactly(t, "SE at 4", c.SE[2], math.Sqrt(one*one+two*two))
	exactly(t, "hazard at 4.5", c.At(4.5).Hazard, 1.0/4+1.0/3+1.0/2)
	if p := c.At(1); p.Hazard != 0 || p.SE != 0 || !math.IsNaN(p.Lower) {
		t.Errorf("before the first event %+v", p)
	}
	if p := c.At(5.5); !math.IsNaN(p.Hazard) {
		t.Errorf("after the last time %+v", p)
	}
	if _, err := NelsonAalen(Times{Exit: []float64{2}, Status: []bool{true}}, CurveOptions{Cluster: []int{1}}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one child: %v", err)
	}
}
