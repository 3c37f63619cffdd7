package plots

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/plot/vg"
)

func TestLinearTicks(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      []string
	}{
		{0, 1, []string{"0.0", "0.2", "0.4", "0.6", "0.8", "1.0"}},
		{0, 2.3, []string{"0.0", "0.5", "1.0", "1.5", "2.0", "2.5"}},
		{0, 10, []string{"0", "2", "4", "6", "8", "10"}},
		{0, 0.004, []string{"0.000", "0.001", "0.002", "0.003", "0.004"}},
		{0, 45000, []string{"0", "10000", "20000", "30000", "40000", "50000"}},
		{-0.3, 0.25, []string{"−0.4", "−0.2", "0.0", "0.2", "0.4"}},
	} {
		ticks, labels := linearTicks(c.low, c.high, 5)
		if !slices.Equal(labels, c.want) {
			t.Errorf("%v to %v: %q, want %q", c.low, c.high, labels, c.want)
		}
		if ticks[0] > c.low+1e-9 || ticks[len(ticks)-1] < c.high-1e-9 {
			t.Errorf("%v to %v: ticks %v do not enclose it", c.low, c.high, ticks)
		}
	}
}

func TestLogTicks(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		want      []string
	}{
		{0.2, 9, []string{"0.25", "0.5", "1", "2", "4", "8"}},
		{0.35, 3.1, []string{"0.5", "0.67", "0.8", "1", "1.25", "1.5", "2"}},
		{0.3, 65, []string{"0.5", "1", "2", "4", "8", "16", "32", "64"}},
		{0.92, 1.08, []string{"0.95", "1", "1.05"}},
		{0.003, 400, []string{"0.01", "0.1", "1", "10", "100"}},
		{1e-9, 1e9, []string{"1e−9", "1e−6", "0.001", "1", "1000", "1e6", "1e9"}},
	} {
		ticks, labels := logTicks(c.low, c.high, 240)
		if !slices.Equal(labels, c.want) {
			t.Errorf("%v to %v: %q, want %q", c.low, c.high, labels, c.want)
		}
		for _, x := range ticks {
			if x < c.low || x > c.high {
				t.Errorf("%v to %v: tick %v is outside", c.low, c.high, x)
			}
		}
	}
}

// On a short axis there are fewer, and always the ratio 1.
func TestLogTicksOnShortAxis(t *testing.T) {
	for _, length := range []float64{5, 30, 54, 100} {
		ticks, _ := logTicks(0.2, 9, vg.Length(length))
		if !slices.Contains(ticks, 1) || !apart(ticks, 0.2, 9, vg.Length(length)) {
			t.Errorf("length %v: ticks %v", length, ticks)
		}
	}
}

func TestAxisLabel(t *testing.T) {
	for _, c := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{0, 0, "0"}, {-0.5, 1, "−0.5"}, {12345678, 0, "1.23e7"}, {2e9, 0, "2e9"}, {2e-9, 9, "2e−9"}, {0, 12, "0.000"},
	} {
		if got := axisLabel(c.x, c.decimals); got != c.want {
			t.Errorf("axisLabel(%v, %d) = %q, want %q", c.x, c.decimals, got, c.want)
		}
	}
}

// Half way on a log axis is the geometric mean, on a linear one the mean.
func TestScale(t *testing.T) {
	s := scale{low: 1, high: 100, from: 20, to: 40, log: true}
	if got := s.at(10); math.Abs(float64(got)-30) > 1e-12 {
		t.Errorf("10 stands at %v, want 30", got)
	}
	s.log = false
	if got := s.at(50.5); math.Abs(float64(got)-30) > 1e-12 {
		t.Errorf("50.5 stands at %v, want 30", got)
	}
}
