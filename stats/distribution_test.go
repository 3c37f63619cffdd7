package stats

import (
	"math"
	"testing"
)

// Tails far out against their asymptotic or closed forms, relatively.
func TestSmallTails(t *testing.T) {
	// On two degrees of freedom the chi-squared tail is exp(−x/2).
	for _, x := range []float64{0.1, 5, 80, 700, 1400} {
		if got := chiSquaredTail(x, 2); !nearRelative(got, math.Exp(-x/2), 1e-12) {
			t.Errorf("chi-squared tail at %v on 2: %v, want %v", x, got, math.Exp(-x/2))
		}
		// On one it is the two-sided normal tail of the root.
		if got, want := chiSquaredTail(x, 1), twoSidedNormalP(-math.Sqrt(x)); !nearRelative(got, want, 1e-11) {
			t.Errorf("chi-squared tail at %v on 1: %v, want %v", x, got, want)
		}
	}
	// Abramowitz & Stegun, Handbook of Mathematical Functions, 26.2.12: the
	// normal tail is φ(z)/z (1 − 1/z² + 3/z⁴ − 15/z⁶ + 105/z⁸ − ...), the terms
	// bounding the error.
	for _, z := range []float64{10, 20, 37} {
		u := 1 / (z * z)
		want := 2 / z / math.Sqrt(2*math.Pi) * math.Exp(-z*z/2) * (1 - u*(1-3*u*(1-5*u*(1-7*u))))
		if got := twoSidedNormalP(z); !nearRelative(got, want, 945*math.Pow(u, 5)+1e-12) {
			t.Errorf("normal tail at %v: %v, want %v", z, got, want)
		}
	}
}

// The quantile undoes the tail, and the familiar one is as tabled.
func TestNormalQuantile(t *testing.T) {
	if got := criticalZ(0.95); !near(got, 1.959963984540054, 1e-15) {
		t.Errorf("97.5%% quantile %v", got)
	}
	for _, p := range []float64{1e-300, 1e-20, 1e-5, 0.01, 0.2, 0.5} {
		if got := twoSidedNormalP(normalQuantile(p / 2)); !nearRelative(got, p, 1e-11) {
			t.Errorf("tail of the quantile of %v: %v", p, got)
		}
	}
	if !math.IsNaN(twoSidedNormalP(math.NaN())) || !math.IsNaN(chiSquaredTail(math.NaN(), 1)) || !math.IsNaN(chiSquaredTail(1, 0)) {
		t.Error("not a number became one")
	}
	if chiSquaredTail(0, 3) != 1 || chiSquaredTail(math.Inf(1), 3) != 0 {
		t.Error("the ends of the chi-squared tail")
	}
}

// Binomial tails in closed form where one outcome never happens: pⁿ and its
// complement, also far out.
func TestBinomialTails(t *testing.T) {
	for _, n := range []int{1, 3, 50, 400} {
		for _, p := range []float64{1e-9, 0.01, 0.5, 0.99} {
			want := math.Pow(p, float64(n))
			if got := binomialAtLeast(n, n, p, 1-p); !nearRelative(got, want, 1e-11) {
				t.Errorf("all of %d at %v: %v, want %v", n, p, got, want)
			}
			if got := binomialAtMost(0, n, 1-p, p); !nearRelative(got, want, 1e-11) {
				t.Errorf("none of %d at %v: %v, want %v", n, 1-p, got, want)
			}
			if got := binomialAtMost(n-1, n, p, 1-p); !near(got, 1-want, 1e-13) {
				t.Errorf("not all of %d at %v: %v, want %v", n, p, got, 1-want)
			}
		}
	}
	if binomialAtMost(3, 3, 0.2, 0.8) != 1 || binomialAtLeast(0, 3, 0.2, 0.8) != 1 {
		t.Error("a certain event is not certain")
	}
}
