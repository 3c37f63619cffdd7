package stats

import (
	"errors"
	"fmt"
	"testing"
)

func ExampleRateDifference() {
	e, err := RateDifference(14, 2600, 9, 3900, RateOptions{Per: 1000})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f (%.1f to %.1f) more per 1,000 hours\n", e.Value, e.Lower, e.Upper)
	// Output: 3.1 (-0.1 to 6.3) more per 1,000 hours
}

// By hand: 9/3 − 16/4 = −1 with variance 9/9 + 16/16 = 2.
func TestRateDifferenceByHand(t *testing.T) {
	e, err := RateDifference(9, 3, 16, 4, RateOptions{})
	must(t, err)
	half := 1.959963984540054 * 1.4142135623730951
	if e.Value != -1 || !near(e.Lower, -1-half, 1e-14) || !near(e.Upper, -1+half, 1e-14) {
		t.Errorf("got %+v, want -1 with limits %v and %v", e, -1-half, -1+half)
	}
	if len(e.Warnings) > 0 {
		t.Errorf("warnings %v, want none", e.Warnings)
	}
	few, err := RateDifference(4, 3, 16, 4, RateOptions{})
	must(t, err)
	if !warned(few.Warnings, "few-events") {
		t.Error("four events gave no warning")
	}
	if _, err := RateDifference(0, 3, 0, 4, RateOptions{}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("no events: error %v, want %v", err, ErrNoEvents)
	}
}
