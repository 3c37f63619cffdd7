package stats

import (
	"math"
	"slices"
	"testing"
)

func TestCurveAt(t *testing.T) {
	c := mustCurve(t, lateRows, CurveOptions{})
	for _, p := range []struct {
		at       float64
		survival float64
		atRisk   int
	}{
		{-1, 1, 0},
		{0, 1, 3},   // the earliest entry itself
		{2, 1, 3},   // the row entering at 2 is not yet at risk
		{2.5, 1, 4}, // now it is
		{4, 0.75, 4},
		{4.5, 0.75, 4},  // two left, two entered at 4
		{5.5, 0.75, 5},  // one entered at 5
		{6, 0.45, 5},    // just before the events
		{6.5, 0.45, 2},  // and after them
		{10, 0.225, 1},  // the last time anyone was observed
		{10.5, nan, 0},  // nothing is known
		{nan, nan, 0},   // nor here
		{9.5, 0.225, 1}, // between steps
	} {
		got := c.At(p.at)
		if !near(got.Survival, p.survival, 1e-14) || got.AtRisk != p.atRisk {
			t.Errorf("at %v: survival %v, %d at risk, want %v, %d", p.at, got.Survival, got.AtRisk, p.survival, p.atRisk)
		}
	}
	if first := c.At(1); first.SE != 0 || !math.IsNaN(first.Lower) {
		t.Errorf("before the first step: %+v", first)
	}
	if p := mustCurve(t, lateRows, CurveOptions{Limits: LimitsPlain}).At(1); p.Lower != 1 || p.Upper != 1 {
		t.Errorf("before the first step, plain limits: %+v", p)
	}
	if p := c.At(7); p.Lower != c.Lower[1] || p.Upper != c.Upper[1] || p.SE != c.SE[1] {
		t.Errorf("at 7: %+v", p)
	}
	zero := mustCurve(t, Times{Exit: []float64{1, 2}, Status: []bool{true, true}}, CurveOptions{})
	if p := zero.At(5); p.Survival != 0 || p.AtRisk != 0 {
		t.Errorf("after the curve fell to 0: %+v", p)
	}
}

var nan = math.NaN()

func TestCurveRiskTable(t *testing.T) {
	c := mustCurve(t, lateRows, CurveOptions{})
	atRisk, events, censored := c.RiskTable([]float64{0, 3, 6, 9, 12})
	if !slices.Equal(atRisk, []int{3, 4, 5, 2, 0}) || !slices.Equal(events, []int{0, 0, 3, 4, 4}) ||
		!slices.Equal(censored, []int{0, 0, 2, 2, 3}) {
		t.Errorf("at risk %v events %v censored %v", atRisk, events, censored)
	}
	// Entries written out or left out make the same table.
	exit, status := []float64{2, 4, 4, 7}, []bool{true, false, true, false}
	for _, entry := range [][]float64{nil, make([]float64, 4)} {
		c := mustCurve(t, Times{Entry: entry, Exit: exit, Status: status}, CurveOptions{})
		atRisk, _, _ := c.RiskTable([]float64{0, 2, 3, 4, 5, 8})
		if !slices.Equal(atRisk, []int{4, 4, 3, 3, 1, 0}) {
			t.Errorf("entry %v: at risk %v", entry, atRisk)
		}
	}
}

func TestCurveQuantile(t *testing.T) {
	// Survival 0.9, 0.8, ... at 1, 2, ...: an even number of rows lies exactly
	// at one half from 5 to 6.
	ten := Times{Exit: []float64{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}, Status: slices.Repeat([]bool{true}, 10)}
	c := mustCurve(t, ten, CurveOptions{})
	m := c.Quantile(0.5)
	if m.Value != 5 || m.Measure != "median" || !hasWarning(m.Warnings, "level-stretch") {
		t.Errorf("median %+v", m)
	}
	if q := c.Quantile(0.25); q.Value != 3 || q.Measure != "quantile 0.25" || hasWarning(q.Warnings, "level-stretch") {
		t.Errorf("lower quartile %+v", q)
	}
	// 1-p and the curve round differently; both mean three tenths.
	if q := c.Quantile(0.7); q.Value != 7 {
		t.Errorf("seventh decile %+v", q)
	}
	// The limits are where the limits of the curve cross.
	for i := range c.Time {
		if c.Time[i] < m.Lower && c.Lower[i] <= 0.5 || c.Time[i] < m.Upper && c.Upper[i] <= 0.5 {
			t.Errorf("limits of the median %v %v, but at %v those of the curve are %v %v",
				m.Lower, m.Upper, c.Time[i], c.Lower[i], c.Upper[i])
		}
	}
	if q := c.Quantile(0.9); q.Value != 9 || !math.IsInf(q.Upper, 1) || !hasWarning(q.Warnings, "small-risk-set") {
		t.Errorf("ninth decile %+v", q)
	}

	few := ten
	few.Status = []bool{true, true, true, true, false, false, false, false, false, false}
	m = mustCurve(t, few, CurveOptions{}).Quantile(0.5)
	// The lower limit at 1 is 0.9^exp(1.96 0.0949/(0.9 0.1054)) = 0.9^7.11 = 0.47.
	if !math.IsNaN(m.Value) || !hasWarning(m.Warnings, "not-reached") || !math.IsInf(m.Upper, 1) || m.Lower != 1 {
		t.Errorf("a median not reached: %+v", m)
	}
	m = mustCurve(t, Times{Exit: []float64{5}, Status: []bool{true}}, CurveOptions{}).Quantile(0.5)
	if m.Value != 5 || !math.IsNaN(m.Lower) || !hasWarning(m.Warnings, "limit-not-estimable") {
		t.Errorf("one row: %+v", m)
	}
	if m := (Curve{}).Quantile(0.5); !math.IsNaN(m.Value) {
		t.Errorf("an empty curve: %+v", m)
	}
}
