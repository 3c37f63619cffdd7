package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleRate() {
	e, err := Rate(12, 8400, RateOptions{Per: 1000})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f) per 1,000 hours\n", e.Value, e.Lower, e.Upper)
	// Output: 1.43 (0.74 to 2.50) per 1,000 hours
}

func TestRateGarwood(t *testing.T) {
	want := published.Load(t, "garwood-1936")
	for _, events := range want.Ints("events") {
		e, err := Rate(events, 1, RateOptions{})
		must(t, err)
		want.Check(fmt.Sprintf("lower_%d", events), e.Lower)
		want.Check(fmt.Sprintf("upper_%d", events), e.Upper)
	}
}

// The one printed figure of heel apophysitis in general practice: 61 of 16,383
// children.
func TestRateWiegerinck(t *testing.T) {
	want := published.Load(t, "wiegerinck-2014")
	e, err := Rate(want.Ints("cases")[0], want.Floats("registered")[0], RateOptions{Per: 1000})
	must(t, err)
	want.Check("per_1000", e.Value)
}

// By hand: P(X <= 0 | U) = exp(−U) = 0.025 for no events, and the lower limit
// of one event solves 1 − exp(−L) = 0.025.
func TestRateByHand(t *testing.T) {
	none, err := Rate(0, 2, RateOptions{Per: 10})
	must(t, err)
	if none.Value != 0 || none.Lower != 0 || !near(none.Upper, 5*-math.Log(0.025), 1e-12) {
		t.Errorf("no events: %+v", none)
	}
	one, err := Rate(1, 1, RateOptions{})
	must(t, err)
	if !near(one.Lower, -math.Log(0.975), 1e-12) {
		t.Errorf("one event: lower limit %v, want %v", one.Lower, -math.Log(0.975))
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
			must(t, err)
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
	panics(t, "confidence level 95", func() { _, _ = Rate(1, 1, RateOptions{Level: 95}) })
	panics(t, "-1 events", func() { _, _ = Rate(-1, 1, RateOptions{}) })
	panics(t, "Per is -1", func() { _, _ = Rate(1, 1, RateOptions{Per: -1}) })
}
