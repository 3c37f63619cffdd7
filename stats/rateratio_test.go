package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleRateRatio() {
	e, err := RateRatio(14, 2600, 9, 3900, RateRatioOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f), p = %.3f\n", e.Value, e.Lower, e.Upper, e.P)
	// Output: 2.33 (0.94 to 6.11), p = 0.070
}

func TestRatesBoiceMonson(t *testing.T) {
	want := published.Load(t, "boice-monson-1977")
	cases, years := want.Ints("cases"), want.Floats("years")
	ratio, err := RateRatio(cases[0], years[0], cases[1], years[1], RateRatioOptions{})
	must(t, err)
	want.Check("ratio", ratio.Value)
	want.Check("exact_lower", ratio.Lower)
	want.Check("exact_upper", ratio.Upper)
	difference, err := RateDifference(cases[0], years[0], cases[1], years[1], RateDifferenceOptions{})
	must(t, err)
	want.Check("difference", difference.Value)
	want.Check("difference_lower", difference.Lower)
	want.Check("difference_upper", difference.Upper)
}

// By hand, equal person-times: given 4 events, 3 in the first group has the
// upper tail (4+1)/16. Given 3, none in the first group has the tail 1/8, and
// its upper limit solves (1−π)³ = 0.025.
func TestRateRatioByHand(t *testing.T) {
	e, err := RateRatio(3, 7, 1, 7, RateRatioOptions{})
	must(t, err)
	if !near(e.P, 10.0/16, 1e-14) || e.Value != 3 {
		t.Errorf("3 against 1: value %v and p %v, want 3 and 0.625", e.Value, e.P)
	}
	odds := math.Pow(0.025, -1.0/3) - 1
	none, err := RateRatio(0, 1, 3, 2, RateRatioOptions{})
	must(t, err)
	if none.Value != 0 || none.Lower != 0 || !near(none.Upper, 2*odds, 1e-12) {
		t.Errorf("0 against 3: %+v, upper limit wanted %v", none, 2*odds)
	}
	all, err := RateRatio(3, 2, 0, 1, RateRatioOptions{})
	must(t, err)
	if !math.IsInf(all.Value, 1) || !math.IsInf(all.Upper, 1) || !near(all.Lower, 1/(2*odds), 1e-12) {
		t.Errorf("3 against 0: %+v, lower limit wanted %v", all, 1/(2*odds))
	}
	even, err := RateRatio(3, 1, 0, 1, RateRatioOptions{})
	must(t, err)
	if !near(even.P, 0.25, 1e-14) {
		t.Errorf("3 against 0: p %v, want 1/4", even.P)
	}
}

// Exchanging the groups turns the ratio over, and the p-value is below 1−level
// exactly when the limits exclude 1.
func TestRateRatioProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 1))
	for range 500 {
		a, b := r.IntN(30), 1+r.IntN(30)
		s, u := 1+9*r.Float64(), 1+9*r.Float64()
		level := []float64{0.8, 0.9, 0.95}[r.IntN(3)]
		e, err := RateRatio(a, s, b, u, RateRatioOptions{Level: level})
		must(t, err)
		back, err := RateRatio(b, u, a, s, RateRatioOptions{Level: level})
		must(t, err)
		for _, pair := range [][2]float64{{e.Value, 1 / back.Value}, {e.Lower, 1 / back.Upper}, {e.Upper, 1 / back.Lower}, {e.P, back.P}} {
			if !nearRelative(pair[0], pair[1], 1e-10) {
				t.Errorf("%d in %v against %d in %v: %+v, exchanged %+v", a, s, b, u, e, back)
			}
		}
		if outside := e.Lower > 1 || e.Upper < 1; outside != (e.P < 1-level) {
			t.Errorf("%d in %v against %d in %v: limits %v to %v, p %v", a, s, b, u, e.Lower, e.Upper, e.P)
		}
	}
}

func TestRateRatioRefuses(t *testing.T) {
	if _, err := RateRatio(0, 1, 0, 1, RateRatioOptions{}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("no events: error %v, want %v", err, ErrNoEvents)
	}
	for _, time := range [][2]float64{{0, 1}, {1, 0}, {math.NaN(), 1}, {1, math.Inf(1)}} {
		if _, err := RateRatio(1, time[0], 1, time[1], RateRatioOptions{}); !errors.Is(err, ErrNoPersonTime) {
			t.Errorf("person-times %v: error %v, want %v", time, err, ErrNoPersonTime)
		}
		if _, err := RateDifference(1, time[0], 1, time[1], RateDifferenceOptions{}); !errors.Is(err, ErrNoPersonTime) {
			t.Errorf("person-times %v: error %v, want %v", time, err, ErrNoPersonTime)
		}
	}
}
