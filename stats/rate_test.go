package stats

import (
	"errors"
	"math"
	"testing"
)

// Garwood 1936, tabled in Pearson ES, Hartley HO, Biometrika Tables for
// Statisticians, vol. 1, Table 40 (retyped from memory). The tolerance is half
// a unit of the last printed digit.
func TestRateGarwood(t *testing.T) {
	for _, c := range []struct {
		events                int
		lower, lowerTolerance float64
		upper, upperTolerance float64
	}{
		{0, 0, 0, 3.69, 0.005},
		{1, 0.0253, 0.00005, 5.57, 0.005},
		{2, 0.242, 0.0005, 7.22, 0.005},
		{5, 1.62, 0.005, 11.67, 0.005},
		{10, 4.80, 0.005, 18.39, 0.005},
		{50, 37.11, 0.005, 65.92, 0.005},
	} {
		e, err := Rate(c.events, 1, RateOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(e.Lower-c.lower) > c.lowerTolerance || math.Abs(e.Upper-c.upper) > c.upperTolerance {
			t.Errorf("%d events: limits %v to %v, want %v to %v", c.events, e.Lower, e.Upper, c.lower, c.upper)
		}
	}
}

// The limits are defined by their tails: summing Poisson probabilities, a
// plain second way, must give (1-level)/2 on either side. 1e-9 allows for the
// inversion's error.
func TestRateTails(t *testing.T) {
	atMost := func(k int, mean float64) float64 {
		term, sum := math.Exp(-mean), 0.0
		for i := 0; i <= k; i++ {
			sum += term
			term *= mean / float64(i+1)
		}
		return sum
	}
	for events := range 60 {
		for _, level := range []float64{0.8, 0.95, 0.99} {
			e, err := Rate(events, 1, RateOptions{Level: level})
			if err != nil {
				t.Fatal(err)
			}
			tail := (1 - level) / 2
			if got := atMost(events, e.Upper); math.Abs(got-tail) > 1e-9 {
				t.Errorf("%d events at %v: upper tail %v, want %v", events, level, got, tail)
			}
			if events > 0 {
				if got := 1 - atMost(events-1, e.Lower); math.Abs(got-tail) > 1e-9 {
					t.Errorf("%d events at %v: lower tail %v, want %v", events, level, got, tail)
				}
			}
		}
	}
}

func TestRateScale(t *testing.T) {
	e, err := Rate(3, 1500, RateOptions{Per: 1000})
	if err != nil || e.Value != 2 {
		t.Errorf("3 events in 1,500 hours: %v per 1,000, %v; want 2", e.Value, err)
	}
}

func TestRateRefuses(t *testing.T) {
	for _, time := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := Rate(1, time, RateOptions{}); !errors.Is(err, ErrNoPersonTime) {
			t.Errorf("person-time %v: error %v, want %v", time, err, ErrNoPersonTime)
		}
	}
}
