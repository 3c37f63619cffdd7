package stats

import (
	"fmt"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

func ExampleOddsRatioExact() {
	// None of 9 gymnasts and 6 of 14 footballers: the logarithm has no limits.
	e, err := OddsRatioExact(0, 9, 6, 8, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f (%.0f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 0 (0 to 1.08)
}

// By hand: for 0 2 / 2 2 the cell has weights C(2,x) C(4,2−x) = 6, 8, 1 at
// x = 0, 1, 2. P(X = 0 | ψ) = 6/(6+8ψ+ψ²) = 0.025 at ψ = −4 + sqrt(16+234), and
// P(X <= 0 | 1) = 6/15. For 1 1 / 1 3, the mean is 1 where 0·6+8ψ+2ψ² =
// 6+8ψ+ψ², at ψ = √6.
func TestOddsRatioExactByHand(t *testing.T) {
	e, err := OddsRatioExact(0, 2, 2, 2, LimitOptions{})
	must(t, err)
	if e.Value != 0 || e.Lower != 0 || !near(e.Upper, math.Sqrt(250)-4, 1e-13) || !near(e.P, 0.8, 1e-14) {
		t.Errorf("0 2 / 2 2: %+v", e)
	}
	e, err = OddsRatioExact(1, 1, 1, 3, LimitOptions{})
	must(t, err)
	if !near(e.Value, math.Sqrt(6), 1e-13) || e.P != 1 {
		t.Errorf("1 1 / 1 3: %+v", e)
	}
	e, err = OddsRatioExact(2, 0, 2, 2, LimitOptions{})
	must(t, err)
	if !math.IsInf(e.Value, 1) || !math.IsInf(e.Upper, 1) || !(e.Lower > 0) {
		t.Errorf("2 0 / 2 2: %+v", e)
	}
}

// By hand for the tea tasting, 3 1 / 1 3, with weights 1, 16, 36, 16, 1: the
// estimate is the root of ψ⁴ − 36ψ² − 32ψ − 3, and at the upper limit
// 1 + 16ψ + 36ψ² + 16ψ³ is a fortieth of that plus ψ⁴.
func TestOddsRatioExactTea(t *testing.T) {
	e, err := OddsRatioExact(3, 1, 1, 3, LimitOptions{})
	must(t, err)
	v, u := e.Value, e.Upper
	if left := v*v*v*v - 36*v*v - 32*v - 3; math.Abs(left) > 1e-10 {
		t.Errorf("at the estimate %v the polynomial is %v", v, left)
	}
	below := 1 + 16*u + 36*u*u + 16*u*u*u
	if tail := below / (below + u*u*u*u); !near(tail, 0.025, 1e-13) {
		t.Errorf("at the upper limit %v the tail is %v", u, tail)
	}
}

// The limits are where a tail, summed here from exact binomial coefficients,
// equals (1−level)/2, and the estimate where the mean is the count.
func TestOddsRatioExactDefinition(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 1))
	choose := func(n, k int) float64 {
		x, _ := new(big.Float).SetInt(new(big.Int).Binomial(int64(n), int64(k))).Float64()
		return x
	}
	for range 300 {
		table := randomTable(r, 2, 2, 15)
		a, b, c, d := table[0][0], table[0][1], table[1][0], table[1][1]
		e, err := OddsRatioExact(a, b, c, d, LimitOptions{})
		must(t, err)
		tails := func(psi float64) (mean, atMost, atLeast float64) {
			var total, first, below, above float64
			for x := max(0, a-d); x <= min(a+b, a+c); x++ {
				p := choose(a+b, x) * choose(c+d, a+c-x) * math.Pow(psi, float64(x))
				total += p
				first += float64(x) * p
				if x <= a {
					below += p
				}
				if x >= a {
					above += p
				}
			}
			return first / total, below / total, above / total
		}
		if e.Lower > 0 {
			if _, _, p := tails(e.Lower); !near(p, 0.025, 1e-12) {
				t.Errorf("%v: lower limit %v has tail %v", table, e.Lower, p)
			}
		}
		if !math.IsInf(e.Upper, 1) {
			if _, p, _ := tails(e.Upper); !near(p, 0.025, 1e-12) {
				t.Errorf("%v: upper limit %v has tail %v", table, e.Upper, p)
			}
		}
		if e.Value > 0 && !math.IsInf(e.Value, 1) {
			if mean, _, _ := tails(e.Value); !near(mean, float64(a), 1e-12) {
				t.Errorf("%v: at the estimate %v the mean is %v", table, e.Value, mean)
			}
		}
		if outside := e.Lower > 1 || e.Upper < 1; outside != (e.P < 0.05) {
			t.Errorf("%v: limits %v to %v, p %v", table, e.Lower, e.Upper, e.P)
		}
	}
}
