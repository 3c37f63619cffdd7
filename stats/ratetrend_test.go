package stats

import (
	"errors"
	"fmt"
	"testing"
)

func ExampleRateTrend() {
	// Episodes and hours at 8, 10 and 12 years.
	test, err := RateTrend([]int{4, 9, 15}, []float64{3000, 3200, 2900}, []float64{8, 10, 12})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("chi-squared %.2f, p = %.3f\n", test.Statistic, test.P)
	// Output: chi-squared 7.04, p = 0.008
}

// By hand: 2 and 6 events in equal times are expected to be 4 and 4: 1 + 1 = 2;
// two groups have the same statistic for trend, whatever their scores.
func TestRateTrendByHand(t *testing.T) {
	same, err := RateHomogeneity([]int{2, 6}, []float64{5, 5})
	must(t, err)
	trend, err := RateTrend([]int{2, 6}, []float64{5, 5}, []float64{-3, 11})
	must(t, err)
	if !near(same.Statistic, 2, 1e-14) || same.DF != 1 || !near(trend.Statistic, 2, 1e-14) || !warned(same.Warnings, "few-expected") {
		t.Errorf("got %+v and %+v, want 2 and a warning", same, trend)
	}
	// A rise and fall has no trend: 1, 4, 1 in equal times, scores 0, 1, 2.
	flat, err := RateTrend([]int{1, 4, 1}, []float64{1, 1, 1}, []float64{0, 1, 2})
	must(t, err)
	if flat.Statistic > 1e-25 || flat.P < 1-1e-9 {
		t.Errorf("no trend: %+v", flat)
	}
}

func TestRateTrendRefuses(t *testing.T) {
	if _, err := RateTrend([]int{1, 2}, []float64{1, 1}, []float64{3, 3}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("equal scores: %v", err)
	}
	if _, err := RateHomogeneity([]int{1}, []float64{1}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("one group: %v", err)
	}
	if _, err := RateHomogeneity([]int{0, 0}, []float64{1, 2}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("no events: %v", err)
	}
	if _, err := RateHomogeneity([]int{1, 0}, []float64{1, 0}); !errors.Is(err, ErrNoPersonTime) {
		t.Errorf("no person-time: %v", err)
	}
	panics(t, "2 scores of 3", func() { _, _ = RateTrend([]int{1, 2, 3}, []float64{1, 1, 1}, []float64{3, 3}) })
}
