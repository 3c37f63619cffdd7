package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"heelcohort/stats/internal/published"
)

func ExampleDirectStandardisation() {
	// Two age bands of a club's hours, to weights of the whole league.
	e, err := DirectStandardisation([]int{12, 9}, []float64{4000, 6000}, []float64{30, 70}, StandardOptions{Per: 1000})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f) per 1,000 hours\n", e.Value, e.Lower, e.Upper)
	// Output: 1.95 (1.19 to 3.04) per 1,000 hours
}

func TestDirectStarkMantel(t *testing.T) {
	want := published.Load(t, "stark-mantel-1966")
	e, err := DirectStandardisation(want.Ints("cases"), want.Floats("births"), want.Floats("standard"), StandardOptions{Per: 100000})
	must(t, err)
	want.Check("adjusted", e.Value)
	want.Check("gamma_lower", e.Lower)
	want.Check("gamma_upper", e.Upper)
}

// With one stratum, and with weights equal to the group's own person-time,
// nothing is standardised: the rate is the crude one and the limits Garwood's.
func TestDirectIsCrude(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(rt, "strata")
		events := make([]int, n)
		time := make([]float64, n)
		total, sum := 0, 0.0
		for i := range n {
			events[i] = rapid.IntRange(0, 30).Draw(rt, "events")
			time[i] = rapid.Float64Range(1, 1000).Draw(rt, "time")
			total += events[i]
			sum += time[i]
		}
		crude, err := Rate(total, sum, RateOptions{})
		must(t, err)
		for _, method := range []StandardMethod{FayFeuer, ModifiedGamma} {
			e, err := DirectStandardisation(events, time, time, StandardOptions{Method: method})
			must(t, err)
			if !near(e.Value, crude.Value, 1e-12) || !near(e.Lower, crude.Lower, 1e-9) || !near(e.Upper, crude.Upper, 1e-9) {
				t.Errorf("got %+v, want the crude %+v", e, crude)
			}
		}
	})
}

// The weights' scale, the strata's order and strata without weight change
// nothing; the modified limits are never above Fay and Feuer's.
func TestDirectInvariance(t *testing.T) {
	events, time, weights := []int{3, 0, 8}, []float64{100, 40, 210}, []float64{5, 2, 9}
	a, err := DirectStandardisation(events, time, weights, StandardOptions{})
	must(t, err)
	b, err := DirectStandardisation([]int{8, 7, 0, 3}, []float64{210, 0, 40, 100}, []float64{900, 0, 200, 500}, StandardOptions{})
	must(t, err)
	if !near(a.Value, b.Value, 1e-14) || !near(a.Lower, b.Lower, 1e-12) || !near(a.Upper, b.Upper, 1e-12) {
		t.Errorf("got %+v and %+v, want the same", a, b)
	}
	m, err := DirectStandardisation(events, time, weights, StandardOptions{Method: ModifiedGamma})
	must(t, err)
	if m.Upper >= a.Upper || m.Lower != a.Lower {
		t.Errorf("modified limits %v to %v, Fay-Feuer's %v to %v", m.Lower, m.Upper, a.Lower, a.Upper)
	}
	none, err := DirectStandardisation([]int{0, 0}, []float64{10, 20}, []float64{1, 1}, StandardOptions{})
	must(t, err)
	// The largest weight of an event is 1/20: that many times Garwood's limit.
	if none.Value != 0 || none.Lower != 0 || !near(none.Upper, -math.Log(0.025)/20, 1e-12) {
		t.Errorf("no events: %+v", none)
	}
}

func TestDirectRefuses(t *testing.T) {
	if _, err := DirectStandardisation([]int{1, 0}, []float64{3, 0}, []float64{1, 1}, StandardOptions{}); !errors.Is(err, ErrNoPersonTime) {
		t.Errorf("a stratum without person-time: %v", err)
	}
	if _, err := DirectStandardisation([]int{1}, []float64{3}, []float64{0}, StandardOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("no weight: %v", err)
	}
	panics(t, "weight -1", func() { _, _ = DirectStandardisation([]int{1}, []float64{3}, []float64{-1}, StandardOptions{}) })
	panics(t, "1 counts, 2 person-times", func() { _, _ = DirectStandardisation([]int{1}, []float64{3, 4}, []float64{1}, StandardOptions{}) })
}
