package report

import (
	"math"
	"math/big"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The wanted texts follow from the rules in numbers.go by hand.
func TestFixed(t *testing.T) {
	for _, test := range []struct {
		x        float64
		decimals int
		want     string
	}{
		{1.5, 2, "1.50"},
		{0.125, 2, "0.12"}, // exact halves in binary: to the even digit
		{0.375, 2, "0.38"},
		{2.5, 0, "2"},
		{3.5, 0, "4"},
		{2.675, 2, "2.67"}, // 2.67499999999999982236431605997495353221893310546875
		{1.005, 2, "1.00"}, // 1.00499999999999989341858963598497211933135986328125
		{0, 2, "0.00"},
		{math.Copysign(0, -1), 2, "0.00"},
		{0.004, 2, "<0.01"},
		{-0.004, 2, ">−0.01"},
		{0.3, 0, "<1"},
		{-3.71, 1, "−3.7"},
		{1234.5, 1, "1,234.5"},
		{999999.4, 0, "999,999"},
		{12345678, 2, "1.2×10⁷"},
		{-2.5e30, 2, "−2.5×10³⁰"},
		{math.NaN(), 2, "–"},
		{math.Inf(1), 2, "∞"},
		{math.Inf(-1), 2, "−∞"},
	} {
		if got := fixed(test.x, test.decimals); got != test.want {
			t.Errorf("fixed(%v, %d) = %q, want %q", test.x, test.decimals, got, test.want)
		}
	}
}

// TestFixedIsNearest: no decimal text of the same length lies nearer to the
// exact value of the float64. The check is in exact fractions.
func TestFixedIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		text := fixed(x, decimals)
		if strings.ContainsAny(text, "<>") {
			if bound := math.Pow10(-decimals); math.Abs(x) > bound/2 || x == 0 {
				t.Fatalf("%v is shown as %s", x, text)
			}
			return
		}
		shown, ok := new(big.Rat).SetString(strings.NewReplacer(",", "", minus, "-").Replace(text))
		if !ok {
			t.Fatalf("%q is no number", text)
		}
		off := new(big.Rat).Sub(shown, new(big.Rat).SetFloat64(x))
		half := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals)), nil))
		half.Quo(half, big.NewRat(2, 1))
		if off.Abs(off).Cmp(half) > 0 {
			t.Fatalf("%v is shown as %s", x, text)
		}
	})
}

func TestPercent(t *testing.T) {
	for _, test := range []struct {
		x, whole float64
		want     string
	}{
		{100. * 12 / 350, 350, "3.4%"},
		{100. * 12 / 35, 35, "34%"}, // without decimals under 100
		{100. * 50 / 99, 99, "51%"}, // 50.505
		{50, 100, "50.0%"},          // with one from 100 on
		{0, 350, "0%"},
		{100, 350, "100%"},
		{100. * 1 / 5000, 5000, "<0.1%"}, // 0.02
		{100. * 4999 / 5000, 5000, ">99.9%"},
		{99.6, 99, ">99%"},
		{math.NaN(), 10, "–"},
	} {
		if got := percent(test.x, test.whole); got != test.want {
			t.Errorf("percent(%v, %v) = %q, want %q", test.x, test.whole, got, test.want)
		}
	}
}

func TestPValue(t *testing.T) {
	for _, test := range []struct {
		p    float64
		want string
	}{
		{0, "<0.001"},
		{0.00099, "<0.001"},
		{0.001, "0.001"},
		{0.0094, "0.009"},
		{0.00996, "0.010"},
		{0.01, "0.01"},
		{0.049, "0.05"},
		{0.2, "0.20"},
		{0.994, "0.99"},
		{0.999, ">0.99"},
		{1, "1.00"},
		{math.NaN(), "–"},
	} {
		if got := pValue(test.p); got != test.want {
			t.Errorf("pValue(%v) = %q, want %q", test.p, got, test.want)
		}
	}
}

func TestCountsAndAmounts(t *testing.T) {
	for _, test := range []struct{ got, want string }{
		{count(0), "0"},
		{count(999), "999"},
		{count(1190), "1,190"},
		{count(1234567), "1,234,567"},
		{count(-12), "−12"},
		{count(1.5), "1.5"},
		{count(math.NaN()), "–"},
		{amount(12310.5), "12,310"},
		{amount(4011), "4,011"},
		{amount(512.25), "512.2"},
		{amount(3.14159), "3.14"},
		{plain(30.5), "30.5"},
		{plain(-2), "−2"},
		{plain(1e-9), "1e−09"},
		{confidence(0.95), "95% CI"},
		{confidence(0.999), "99.9% CI"},
		{confidence(0.9), "90% CI"},
	} {
		if test.got != test.want {
			t.Errorf("%q, want %q", test.got, test.want)
		}
	}
}

func TestDecimals(t *testing.T) {
	for _, test := range []struct {
		rates []float64
		want  int
	}{
		{[]float64{1.21, 0.6, 1.65}, 2},
		{[]float64{1.21, 0.023}, 3},             // two digits of the smallest
		{[]float64{123.4, 98}, 0},               // three of the largest, two of the smallest
		{[]float64{0.0012, 0}, 5},               // three digits of the largest; 0 asks for none
		{[]float64{0, math.NaN()}, 0},           //
		{[]float64{1e-12, math.Inf(1)}, 6},      // never more than 6
		{[]float64{99.95, math.Inf(1), 9.9}, 1}, //
	} {
		if got := rateDecimals(test.rates); got != test.want {
			t.Errorf("rates %v: %d decimals, want %d", test.rates, got, test.want)
		}
	}
	for _, test := range []struct {
		sd   float64
		want int
	}{{250, 0}, {12.3, 1}, {2.1, 1}, {0.51, 2}, {0.052, 3}, {1e-12, 6}, {0, 1}, {math.NaN(), 1}} {
		if got := spreadDecimals(test.sd); got != test.want {
			t.Errorf("standard deviation %v: %d decimals, want %d", test.sd, got, test.want)
		}
	}
	if got := neededDecimals([]float64{4, 3, math.NaN()}, 2); got != 0 {
		t.Errorf("whole numbers: %d decimals, want 0", got)
	}
	if got := neededDecimals([]float64{4, 3.25, 0.1 + 0.2}, 2); got != 2 {
		t.Errorf("fractions: %d decimals, want 2", got)
	}
}

func TestMarkName(t *testing.T) {
	for i, want := range map[int]string{0: "a", 25: "z", 26: "aa", 27: "ab", 51: "az", 52: "ba", 701: "zz", 702: "aaa"} {
		if got := markName(i); got != want {
			t.Errorf("mark %d is %q, want %q", i, got, want)
		}
	}
}
