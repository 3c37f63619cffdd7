package printed

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
		if got := Fixed(test.x, test.decimals); got != test.want {
			t.Errorf("Fixed(%v, %d) = %q, want %q", test.x, test.decimals, got, test.want)
		}
	}
}

// TestFixedIsNearest: no decimal text of the same length lies nearer to the
// exact value of the float64. The check is in exact fractions.
func TestFixedIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-1e6, 1e6).Draw(t, "x")
		decimals := rapid.IntRange(0, 6).Draw(t, "decimals")
		text := Fixed(x, decimals)
		if strings.ContainsAny(text, "<>") {
			if bound := math.Pow10(-decimals); math.Abs(x) > bound/2 || x == 0 {
				t.Fatalf("%v is shown as %s", x, text)
			}
			return
		}
		shown, ok := new(big.Rat).SetString(strings.NewReplacer(",", "", Minus, "-").Replace(text))
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
		if got := P(test.p); got != test.want {
			t.Errorf("P(%v) = %q, want %q", test.p, got, test.want)
		}
	}
}

func TestRelation(t *testing.T) {
	for p, want := range map[float64]string{
		0: "< 0.001", 0.0009999: "< 0.001", 0.001: "= 0.001", 0.0099: "= 0.010", 0.01: "= 0.01", 0.049: "= 0.05",
		0.994: "= 0.99", 0.996: "> 0.99", 1: "= 1.00",
	} {
		if got := Relation(p); got != want {
			t.Errorf("Relation(%v) = %q, want %q", p, got, want)
		}
	}
	if got := Relation(math.NaN()); got != Dash {
		t.Errorf("Relation(NaN) = %q, want %q", got, Dash)
	}
}

func TestLevel(t *testing.T) {
	for x, want := range map[float64]string{0.95: "95% CI", 0.9: "90% CI", 0.995: "99.5% CI", 1. / 3: "33.333333% CI"} {
		if got := Level(x); got != want {
			t.Errorf("Level(%v) = %q, want %q", x, got, want)
		}
	}
}
