package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

func ExampleRateDifference() {
	e, err := RateDifference(14, 2600, 9, 3900, RateDifferenceOptions{Per: 1000})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f (%.1f to %.1f) more per 1,000 hours\n", e.Value, e.Lower, e.Upper)
	// Output: 3.1 (-0.1 to 6.3) more per 1,000 hours
}

// By hand: 9/3 − 16/4 = −1 with variance 9/9 + 16/16 = 2.
func TestRateDifferenceByHand(t *testing.T) {
	e, err := RateDifference(9, 3, 16, 4, RateDifferenceOptions{})
	must(t, err)
	half := 1.959963984540054 * 1.4142135623730951
	if e.Value != -1 || !near(e.Lower, -1-half, 1e-14) || !near(e.Upper, -1+half, 1e-14) {
		t.Errorf("got %+v, want -1 with limits %v and %v", e, -1-half, -1+half)
	}
	if len(e.Warnings) > 0 {
		t.Errorf("warnings %v, want none", e.Warnings)
	}
	few, err := RateDifference(4, 3, 16, 4, RateDifferenceOptions{})
	must(t, err)
	if !warned(few.Warnings, "few-events") {
		t.Error("four events gave no warning")
	}
	if _, err := RateDifference(0, 3, 0, 4, RateDifferenceOptions{}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("no events: error %v, want %v", err, ErrNoEvents)
	}
}

// The score limits are where the test of the difference is at its critical
// value: a plain search over the second rate gives the restricted likelihood.
// 1e-3 is what the search resolves.
func TestRateDifferenceScore(t *testing.T) {
	const s, u = 40.0, 70.0
	for _, n := range [][2]int{{9, 4}, {0, 3}, {5, 0}, {1, 1}, {30, 80}} {
		a, b := float64(n[0]), float64(n[1])
		e, err := RateDifference(n[0], s, n[1], u, RateDifferenceOptions{Method: DifferenceScore})
		must(t, err)
		for _, delta := range []float64{e.Lower, e.Upper} {
			best, r0 := math.Inf(-1), 0.0
			for x := math.Max(0, -delta) + 1e-9; x < 2; x += 1e-5 {
				log := -s*(x+delta) - u*x
				if a > 0 {
					log += a * math.Log(x+delta)
				}
				if b > 0 {
					log += b * math.Log(x)
				}
				if log > best {
					best, r0 = log, x
				}
			}
			z := (e.Value - delta) / math.Sqrt((r0+delta)/s+r0/u)
			if math.Abs(math.Abs(z)-criticalZ(0.95)) > 1e-3 {
				t.Errorf("%v: the test of %v is at %v", n, delta, z)
			}
		}
	}
}
