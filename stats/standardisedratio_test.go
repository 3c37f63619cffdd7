package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func ExampleStandardisedRateRatio() {
	// Episodes per 1,000 hours of two sports in two age bands, weighted alike.
	e, err := StandardisedRateRatio([]RateStratum{{12, 4, 6, 3}, {20, 5, 10, 4}}, []float64{1, 1}, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f\n", e.Value)
	// Output: 1.556
}

// By hand: rates 12/4 and 20/5 average to 3.5, 6/3 and 10/4 to 2.25. Variances
// are (12/16 + 20/25)/4 and (6/9 + 10/16)/4.
func TestStandardisedRateRatioByHand(t *testing.T) {
	e, err := StandardisedRateRatio([]RateStratum{{12, 4, 6, 3}, {20, 5, 10, 4}}, []float64{7, 7}, LimitOptions{})
	must(t, err)
	se := math.Sqrt((12.0/16+20.0/25)/4/3.5/3.5 + (6.0/9+10.0/16)/4/2.25/2.25)
	if !near(e.Value, 3.5/2.25, 1e-14) || !near(e.SE, se, 1e-14) || !near(e.Upper, 3.5/2.25*math.Exp(1.959963984540054*se), 1e-13) {
		t.Errorf("%+v, want %v with error %v", e, 3.5/2.25, se)
	}
	if len(e.Warnings) > 0 {
		t.Errorf("warnings %v", e.Warnings)
	}
}

func TestStandardisedRateRatioRefuses(t *testing.T) {
	for _, c := range []struct {
		strata  []RateStratum
		weights []float64
		want    error
	}{
		{[]RateStratum{{1, 1, 1, 1}}, []float64{0}, ErrNoData},
		{[]RateStratum{{1, 1, 1, 1}, {0, 0, 1, 1}}, []float64{1, 1}, ErrNoPersonTime},
		{[]RateStratum{{1, 1, 1, 1}, {1, 1, 0, 0}}, []float64{1, 1}, ErrNoPersonTime},
		{[]RateStratum{{0, 1, 0, 1}, {4, 1, 5, 1}}, []float64{1, 0}, ErrNoEvents},
		{[]RateStratum{{3, 1, 0, 1}, {4, 1, 5, 1}}, []float64{1, 0}, ErrZeroCell},
	} {
		if _, err := StandardisedRateRatio(c.strata, c.weights, LimitOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%v weighted %v: error %v, want %v", c.strata, c.weights, err, c.want)
		}
	}
	if e, err := StandardisedRateRatio([]RateStratum{{4, 1, 9, 1}, {0, 0, 0, 0}}, []float64{1, 0}, LimitOptions{}); err != nil || !warned(e.Warnings, "few-events") {
		t.Errorf("%+v, %v; want a warning of few events", e, err)
	}
}

// It is the quotient of two standardised rates, with the sum of their squared
// relative errors; the scale of weights does not matter; changing the groups
// inverts it. One stratum gives the crude ratio's log limits.
func TestStandardisedRateRatioProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "strata")
		var strata, swapped []RateStratum
		var weights, scaled, t1, t0 []float64
		var a, b []int
		for range n {
			s := RateStratum{
				rapid.IntRange(1, 50).Draw(t, "a"), rapid.Float64Range(0.1, 1000).Draw(t, "t1"),
				rapid.IntRange(1, 50).Draw(t, "b"), rapid.Float64Range(0.1, 1000).Draw(t, "t0"),
			}
			strata = append(strata, s)
			swapped = append(swapped, RateStratum{s.Events0, s.PersonTime0, s.Events1, s.PersonTime1})
			w := rapid.Float64Range(0.1, 10).Draw(t, "w")
			weights, scaled = append(weights, w), append(scaled, 3*w)
			a, b, t1, t0 = append(a, s.Events1), append(b, s.Events0), append(t1, s.PersonTime1), append(t0, s.PersonTime0)
		}
		e, err := StandardisedRateRatio(strata, weights, LimitOptions{})
		back, err1 := StandardisedRateRatio(swapped, scaled, LimitOptions{})
		one, err2 := DirectStandardisation(a, t1, weights, StandardOptions{})
		zero, err3 := DirectStandardisation(b, t0, weights, StandardOptions{})
		if err := errors.Join(err, err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		se := math.Sqrt(one.SE*one.SE/one.Value/one.Value + zero.SE*zero.SE/zero.Value/zero.Value)
		if !nearRelative(e.Value, one.Value/zero.Value, 1e-12) || !nearRelative(e.SE, se, 1e-12) {
			t.Fatalf("%+v, want %v with error %v", e, one.Value/zero.Value, se)
		}
		if !nearRelative(e.Value, 1/back.Value, 1e-12) || !nearRelative(e.Lower, 1/back.Upper, 1e-12) || !near(e.P, back.P, 1e-12) {
			t.Fatalf("%+v, the other way %+v", e, back)
		}
		if n == 1 {
			crude, err := RateRatio(a[0], t1[0], b[0], t0[0], RateRatioOptions{Method: RatioLog})
			if err != nil || !nearRelative(e.Upper, crude.Upper, 1e-12) {
				t.Fatalf("%+v, crude %+v (%v)", e, crude, err)
			}
		}
	})
}
