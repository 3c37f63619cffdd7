package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

func ExampleNaturalSpline() {
	s, err := NewNaturalSpline([]float64{8, 10, 12})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(s.At(7), s.At(10))
	// Output: [7 0] [10 0.5]
}

// By hand with knots 0, 1, 2: at 2 the second column is (8 − 2·1)/4 = 1.5, and
// after it the tail is straight: (27 − 2·8 + 1)/4 = 3 at 3, 4.5 at 4.
func TestNaturalSplineByHand(t *testing.T) {
	s, err := NewNaturalSpline([]float64{0, 1, 2})
	must(t, err)
	for _, c := range [][2]float64{{-5, 0}, {0, 0}, {1, 0.25}, {2, 1.5}, {3, 3}, {4, 4.5}} {
		if row := s.At(c[0]); len(row) != s.Columns() || row[0] != c[0] || !near(row[1], c[1], 1e-14) {
			t.Errorf("at %v: %v, want %v", c[0], row, c[1])
		}
	}
	// Value, slope and curvature are continuous at the knots, by differences.
	five, err := NewNaturalSpline([]float64{6, 8.5, 9, 11, 16})
	must(t, err)
	const h = 1e-3
	for _, k := range five.Knots {
		for j := range five.Columns() {
			at := func(d float64) float64 { return five.At(k + d)[j] }
			left, right := (at(-2*h)-2*at(-h)+at(0))/h/h, (at(2*h)-2*at(h)+at(0))/h/h
			if math.Abs(left-right) > 0.05 {
				t.Errorf("knot %v, column %d: curvature %v and %v", k, j, left, right)
			}
		}
	}
}

func TestKnots(t *testing.T) {
	got, err := QuantileKnots([]float64{9, 1, 2, 4, 3}, 3)
	must(t, err)
	if got[0] != 1 || got[1] != 3 || got[2] != 9 {
		t.Errorf("knots %v, want 1, 3, 9", got)
	}
	for _, c := range []struct {
		values []float64
		n      int
		want   error
	}{
		{[]float64{1, 2, 3}, 2, ErrKnots},
		{[]float64{1, 1, 1, 2}, 4, ErrKnots},
		{nil, 3, ErrNoData},
		{[]float64{1, math.Inf(1), 3}, 3, ErrNotFinite},
	} {
		if _, err := QuantileKnots(c.values, c.n); !errors.Is(err, c.want) {
			t.Errorf("%v: %v, want %v", c, err, c.want)
		}
	}
	for _, knots := range [][]float64{{1, 2}, {1, 2, 2}, {1, math.NaN(), 3}, {3, 2, 1}} {
		if _, err := NewNaturalSpline(knots); !errors.Is(err, ErrKnots) {
			t.Errorf("%v: %v", knots, err)
		}
	}
}
