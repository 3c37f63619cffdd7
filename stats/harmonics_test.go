package stats

import (
	"fmt"
	"math"
	"testing"
)

func ExampleHarmonics() {
	h := Harmonics{Period: 52}
	peak, ratio := h.SeasonPeak(math.Log(1.5), 0)
	fmt.Printf("%v: peak in week %.0f, %.2f times the trough\n", h.Names(), peak, ratio)
	// Output: [sin 1 cos 1]: peak in week 13, 2.25 times the trough
}

// By hand at quarters of a period, in periods far away too, and the peak of
// given coefficients by looking for it.
func TestHarmonicsByHand(t *testing.T) {
	h := Harmonics{Period: 12, Pairs: 2}
	for _, c := range []struct {
		t    float64
		want [4]float64
	}{
		{0, [4]float64{0, 1, 0, 1}},
		{3, [4]float64{1, 0, 0, -1}},
		{-3, [4]float64{-1, 0, 0, -1}},
		{1 + 12000, [4]float64{0.5, math.Sqrt(0.75), math.Sqrt(0.75), 0.5}},
	} {
		for j, got := range h.At(c.t) {
			if !near(got, c.want[j], 1e-14) {
				t.Errorf("at %v: %v, want %v", c.t, h.At(c.t), c.want)
			}
		}
	}
	one := Harmonics{}
	peak, ratio := one.SeasonPeak(-0.3, -0.4)
	best, high, low := 0.0, math.Inf(-1), math.Inf(1)
	for d := 0.0; d < DaysPerYear; d += 0.01 {
		row := one.At(d)
		v := -0.3*row[0] - 0.4*row[1]
		if v > high {
			best, high = d, v
		}
		low = math.Min(low, v)
	}
	if math.Abs(peak-best) > 0.02 || !near(ratio, math.Exp(high-low), 1e-6) || !near(ratio, math.E, 1e-14) {
		t.Errorf("peak %v, ratio %v; found %v, %v", peak, ratio, best, math.Exp(high-low))
	}
	if peak, ratio := one.SeasonPeak(0, 0); !math.IsNaN(peak) || ratio != 1 {
		t.Errorf("no season: %v, %v", peak, ratio)
	}
	panics(t, "period -1", func() { Harmonics{Period: -1}.At(0) })
}
