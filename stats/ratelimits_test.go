package stats

import (
	"fmt"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleRate_midP() {
	e, err := Rate(0, 250, RateOptions{Per: 1000, Method: PoissonMidP})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f (%.0f to %.1f) per 1,000 hours: %s\n", e.Value, e.Lower, e.Upper, e.Method)
	// Output: 0 (0 to 12.0) per 1,000 hours: mid-P Poisson limits
}

func TestIndirectBreslowDay(t *testing.T) {
	want := published.Load(t, "breslow-day-1987")
	observed, expected := want.Ints("observed")[0], want.Floats("expected")
	exact, err := IndirectStandardisation(observed, expected, []float64{1}, RateOptions{})
	must(t, err)
	byar, err := IndirectStandardisation(observed, expected, []float64{1}, RateOptions{Method: Byar})
	must(t, err)
	want.Check("ratio", exact.Value)
	want.Check("exact_lower", exact.Lower)
	want.Check("exact_upper", exact.Upper)
	want.Check("byar_lower", byar.Lower)
	want.Check("byar_upper", byar.Upper)
}

// By hand: with one event mid-P's lower limit solves 1 − e^−L − L e^−L/2 = 0.025
// and its upper one e^−U + U e^−U/2 = 0.025; with none, e^−U/2 = 0.025. 1e-12
// allows for the tails' own rounding.
func TestPoissonMidPByHand(t *testing.T) {
	none, err := Rate(0, 1, RateOptions{Method: PoissonMidP})
	must(t, err)
	if none.Lower != 0 || !near(none.Upper, math.Log(20), 1e-14) {
		t.Errorf("no events: %+v", none)
	}
	one, err := Rate(1, 1, RateOptions{Method: PoissonMidP})
	must(t, err)
	if x := one.Lower; !near(1-math.Exp(-x)-x*math.Exp(-x)/2, 0.025, 1e-12) {
		t.Errorf("one event: lower limit %v", x)
	}
	if x := one.Upper; !near(math.Exp(-x)+x*math.Exp(-x)/2, 0.025, 1e-12) {
		t.Errorf("one event: upper limit %v", x)
	}
}

// Mid-P's limits lie within the exact ones and both hold the estimate; Byar's
// are within 1% of the exact ones from five events on, as handbooks say.
func TestRateMethodsAgree(t *testing.T) {
	for events := range 400 {
		for _, level := range []float64{0.5, 0.95, 0.999} {
			exact, err := Rate(events, 3, RateOptions{Level: level})
			must(t, err)
			mid, err := Rate(events, 3, RateOptions{Level: level, Method: PoissonMidP})
			must(t, err)
			byar, err := Rate(events, 3, RateOptions{Level: level, Method: Byar})
			must(t, err)
			if mid.Lower < exact.Lower || mid.Upper >= exact.Upper || mid.Lower > mid.Value || mid.Upper < mid.Value {
				t.Errorf("%d events at %v: mid-P %v to %v, exact %v to %v", events, level, mid.Lower, mid.Upper, exact.Lower, exact.Upper)
			}
			if math.IsInf(byar.Upper, 0) || byar.Upper <= byar.Value || byar.Lower < 0 {
				t.Errorf("%d events at %v: Byar's %+v", events, level, byar)
			}
			if events >= 5 && level == 0.95 && (math.Abs(byar.Lower/exact.Lower-1) > 0.01 || math.Abs(byar.Upper/exact.Upper-1) > 0.01) {
				t.Errorf("%d events: Byar's %v to %v, exact %v to %v", events, byar.Lower, byar.Upper, exact.Lower, exact.Upper)
			}
		}
	}
}

func TestIndirectRefuses(t *testing.T) {
	for _, c := range []struct {
		time, rate []float64
	}{{nil, nil}, {[]float64{1, 2}, []float64{0, 0}}, {[]float64{0}, []float64{3}}} {
		if e, err := IndirectStandardisation(2, c.time, c.rate, RateOptions{}); err == nil {
			t.Errorf("%v: got %+v, want an error", c, e)
		}
	}
	none, err := IndirectStandardisation(0, []float64{10}, []float64{0.2}, RateOptions{})
	must(t, err)
	if none.Value != 0 || none.Lower != 0 || !near(none.Upper, -math.Log(0.025)/2, 1e-12) || !near(none.P, 2*math.Exp(-2), 1e-14) {
		t.Errorf("nothing observed: %+v", none)
	}
	panics(t, "2 person-times and 1", func() { _, _ = IndirectStandardisation(1, []float64{1, 2}, []float64{1}, RateOptions{}) })
	panics(t, "reference rate -1", func() { _, _ = IndirectStandardisation(1, []float64{1}, []float64{-1}, RateOptions{}) })
}
