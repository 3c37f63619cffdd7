package stats

import (
	"math"
	"testing"
)

// By hand: plain addition gives 0.9999999999999999 for ten tenths and 0 for
// 1 + 1e100 + 1 - 1e100, whose exact sum is 2.
func TestSum(t *testing.T) {
	for _, c := range []struct {
		terms []float64
		want  float64
	}{
		{nil, 0},
		{[]float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1}, 1},
		{[]float64{1, 1e100, 1, -1e100}, 2},
		{[]float64{math.MaxFloat64, math.MaxFloat64}, math.Inf(1)},
	} {
		var s Sum
		for _, x := range c.terms {
			s.Add(x)
		}
		if got := s.Total(); got != c.want {
			t.Errorf("%v: %v, want %v", c.terms, got, c.want)
		}
	}
}
