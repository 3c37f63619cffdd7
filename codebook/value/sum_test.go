package value

import (
	"math"
	"math/big"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestSumOnPaper(t *testing.T) {
	for _, test := range []struct {
		add  []float64
		want float64
	}{
		{nil, 0},
		{[]float64{0.1, 0.2}, 0.3},
		{[]float64{12.1, 12.9}, 25},
		{[]float64{0.5, 4.4, -5}, -0.1},
		{[]float64{1e-20, 2e-20}, 3e-20},
		{[]float64{1e16, 1, -1e16}, 1},
		{[]float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1}, 1},
		{[]float64{9007199254740991, 0}, 9007199254740991},
		{[]float64{math.MaxFloat64, math.MaxFloat64}, math.Inf(1)},
	} {
		var s Sum
		for _, x := range test.add {
			s.Add(x)
		}
		if got := s.Value(); got != test.want && !(math.IsInf(test.want, 1) && !isFinite(got)) {
			t.Errorf("%v: got %v, want %v", test.add, got, test.want)
		}
	}
}

func isFinite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// TestSumOfDecimals adds decimals as fractions of whole numbers.
func TestSumOfDecimals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.IntRange(0, 4).Draw(t, "digits")
		scale := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(digits)), nil)
		whole := new(big.Int)
		var s Sum
		for _, n := range rapid.SliceOfN(rapid.Int64Range(-1e7, 1e7), 0, 300).Draw(t, "n") {
			whole.Add(whole, big.NewInt(n))
			x, _ := new(big.Rat).SetFrac(big.NewInt(n), scale).Float64()
			s.Add(x)
		}
		want, _ := strconv.ParseFloat(new(big.Rat).SetFrac(whole, scale).FloatString(digits), 64)
		if got := s.Value(); got != want {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}
