package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleDescribe() {
	s := Describe([]float64{8.2, 9.9, 10.4, 11.0, 12.5})
	fmt.Printf("n = %d, mean %.1f (SD %.2f), median %.1f (%.1f to %.1f)\n",
		s.N, s.Mean, s.SD, s.Median, s.LowerQuartile, s.UpperQuartile)
	// Output: n = 5, mean 10.4 (SD 1.57), median 10.4 (9.9 to 11.0)
}

func TestDescribeMichelson(t *testing.T) {
	want := published.Load(t, "nist-michelso")
	s := Describe(want.Floats("y"))
	want.Check("mean", s.Mean)
	want.Check("sd", s.SD)
}

// By hand: 1, 2, 3, 4 has mean 5/2 and variance 5/3; its quartiles lie 3/4 of
// the way from 1 to 2, half from 2 to 3 and 1/4 from 3 to 4. A shift by 2⁴⁰
// costs nothing.
func TestDescribeByHand(t *testing.T) {
	for _, shift := range []float64{0, 1 << 40} {
		s := Describe([]float64{shift + 4, shift + 1, shift + 3, shift + 2})
		want := Summary{4, shift + 2.5, math.Sqrt(5.0 / 3), shift + 1, shift + 4, shift + 1.75, shift + 3.25, shift + 2.5}
		if s != want {
			t.Errorf("got %+v, want %+v", s, want)
		}
	}
	one := Describe([]float64{7})
	if one.Mean != 7 || !math.IsNaN(one.SD) || one.Median != 7 || one.LowerQuartile != 7 {
		t.Errorf("one value: %+v", one)
	}
	for name, values := range map[string][]float64{"nothing": nil, "a missing value": {1, math.NaN(), 3}} {
		s := Describe(values)
		if s.N != len(values) || !math.IsNaN(s.Mean) || !math.IsNaN(s.SD) || !math.IsNaN(s.Min) ||
			!math.IsNaN(s.Max) || !math.IsNaN(s.Median) || !math.IsNaN(s.LowerQuartile) || !math.IsNaN(s.UpperQuartile) {
			t.Errorf("%s: %+v", name, s)
		}
	}
}

// The order of the values does not matter to the last bit, the slice is left
// as it was, and equal values have no deviation.
func TestDescribeProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 1))
	for range 200 {
		values := make([]float64, 2+r.IntN(50))
		for i := range values {
			values[i] = r.NormFloat64() * math.Pow(10, float64(r.IntN(5)))
		}
		want := Describe(values)
		before := slices.Clone(values)
		r.Shuffle(len(values), func(i, j int) { values[i], values[j] = values[j], values[i] })
		after := slices.Clone(values)
		if got := Describe(values); got != want {
			t.Errorf("%v: got %+v, in another order %+v", before, want, got)
		}
		if !slices.Equal(values, after) {
			t.Error("the caller's values were moved")
		}
		same := slices.Repeat([]float64{values[0]}, 7)
		if s := Describe(same); s.SD != 0 || s.Mean != values[0] || s.Median != values[0] {
			t.Errorf("equal values %v: %+v", values[0], s)
		}
	}
}

func TestQuantileRefuses(t *testing.T) {
	if q := Quantile(nil, 0.5); !math.IsNaN(q) {
		t.Errorf("quantile of nothing: %v", q)
	}
	for _, p := range []float64{-0.1, 1.1, math.NaN()} {
		panics(t, "outside 0 to 1", func() { Quantile([]float64{1}, p) })
	}
}
