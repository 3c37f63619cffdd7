package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func ExampleRiskDifferenceScore() {
	// None of 12 children with pronated feet had an episode, and none of 30.
	e, err := RiskDifferenceScore(0, 12, 0, 30, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 0.00 (-0.12 to 0.25)
}

func ExampleRiskRatioScore() {
	e, err := RiskRatioScore(18, 22, 21, 69, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 1.93 (1.15 to 3.17)
}

// By hand, where the risks of greatest likelihood are plain. No outcome in
// either group: p0 = 0 for δ > 0, so that the upper limit U of the difference
// solves U²n1(N−1)/N = z²U(1−U), U = z²/(z² + n1(N−1)/N). Everybody in both:
// p0 = 1 for φ < 1, so that the lower limit of the ratio solves
// (1−L)²n1 = z²L(1−L), L = n1/(n1+z²), and the upper one is (n0+z²)/n0.
func TestRiskScoreByHand(t *testing.T) {
	const z2 = 1.959963984540054 * 1.959963984540054
	d, err := RiskDifferenceScore(0, 12, 0, 30, LimitOptions{})
	must(t, err)
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"upper difference", d.Upper, z2 / (z2 + 12*41.0/42)},
		{"lower difference", d.Lower, -z2 / (z2 + 30*41.0/42)},
		{"p", d.P, 1},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s is %v, want %v", c.what, c.got, c.want)
		}
	}
	r, err := RiskRatioScore(8, 0, 5, 0, LimitOptions{})
	must(t, err)
	if !near(r.Value, 1, 0) || !near(r.Lower, 8/(8+z2), 1e-12) || !near(r.Upper, (5+z2)/5, 1e-12) || r.P != 1 {
		t.Errorf("ratio of everybody: %+v", r)
	}
	// Pearson's chi-square of 18 22 / 21 69 is 130 (18·69 − 22·21)²/(39·91·40·90).
	r, err = RiskRatioScore(18, 22, 21, 69, LimitOptions{})
	must(t, err)
	if want := math.Erfc(math.Sqrt(130*780*780/(39*91*40*90.0)) / math.Sqrt2); !near(r.P, want, 1e-12) {
		t.Errorf("p is %v, want %v", r.P, want)
	}
}

func TestRiskScoreEdges(t *testing.T) {
	for _, c := range []struct {
		n          [4]int
		difference [2]float64 // limits that are certain; NaN: inside
		ratio      [3]float64 // estimate, lower, upper
	}{
		{[4]int{0, 5, 7, 0}, [2]float64{-1, math.NaN()}, [3]float64{0, 0, math.NaN()}},
		{[4]int{7, 0, 0, 5}, [2]float64{math.NaN(), 1}, [3]float64{math.Inf(1), math.NaN(), math.Inf(1)}},
		{[4]int{0, 5, 3, 4}, [2]float64{math.NaN(), math.NaN()}, [3]float64{0, 0, math.NaN()}},
		{[4]int{3, 4, 0, 5}, [2]float64{math.NaN(), math.NaN()}, [3]float64{math.Inf(1), math.NaN(), math.Inf(1)}},
		{[4]int{1, 0, 1, 0}, [2]float64{math.NaN(), math.NaN()}, [3]float64{1, math.NaN(), math.NaN()}},
	} {
		d, err := RiskDifferenceScore(c.n[0], c.n[1], c.n[2], c.n[3], LimitOptions{})
		must(t, err)
		for i, got := range []float64{d.Lower, d.Upper} {
			if want := c.difference[i]; math.IsNaN(want) && !(got > -1 && got < 1) || !math.IsNaN(want) && got != want {
				t.Errorf("%v: limit %d of the difference is %v, want %v", c.n, i, got, want)
			}
		}
		r, err := RiskRatioScore(c.n[0], c.n[1], c.n[2], c.n[3], LimitOptions{})
		must(t, err)
		for i, got := range []float64{r.Value, r.Lower, r.Upper} {
			if want := c.ratio[i]; math.IsNaN(want) && !(got > 0 && got < math.Inf(1)) || !math.IsNaN(want) && got != want {
				t.Errorf("%v: number %d of the ratio is %v, want %v", c.n, i, got, want)
			}
		}
	}
	if _, err := RiskRatioScore(0, 3, 0, 4, LimitOptions{}); !errors.Is(err, ErrNoEvents) {
		t.Errorf("a ratio of nothing: %v", err)
	}
	if _, err := RiskRatioScore(0, 0, 1, 4, LimitOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("a ratio of nobody: %v", err)
	}
	if _, err := RiskDifferenceScore(0, 3, 0, 0, LimitOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("a difference to nobody: %v", err)
	}
}

// Changing the groups changes the signs of differences and inverts ratios; the
// limits hold the estimate and exclude no effect exactly when P says so.
func TestRiskScoreProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		count := rapid.IntRange(0, 40)
		a, b, c, d := count.Draw(t, "a"), count.Draw(t, "b"), count.Draw(t, "c"), count.Draw(t, "d")
		if a+b == 0 || c+d == 0 {
			t.Skip("an empty group")
		}
		level := rapid.SampledFrom([]float64{0.8, 0.95, 0.99}).Draw(t, "level")
		one, err := RiskDifferenceScore(a, b, c, d, LimitOptions{level})
		two, err2 := RiskDifferenceScore(c, d, a, b, LimitOptions{level})
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if !near(one.Lower, -two.Upper, 1e-9) || !near(one.Upper, -two.Lower, 1e-9) || !near(one.P, two.P, 1e-9) {
			t.Fatalf("difference %+v, the other way %+v", one, two)
		}
		if !(one.Lower <= one.Value && one.Value <= one.Upper && one.Lower >= -1 && one.Upper <= 1 && one.Lower < one.Upper) {
			t.Fatalf("difference %+v", one)
		}
		if math.Abs(one.P-(1-level)) > 1e-9 && (one.P < 1-level) != (one.Lower > 0 || one.Upper < 0) {
			t.Fatalf("difference: P and limits disagree: %+v", one)
		}
		if a+c == 0 {
			return
		}
		one, err = RiskRatioScore(a, b, c, d, LimitOptions{level})
		two, err2 = RiskRatioScore(c, d, a, b, LimitOptions{level})
		if err != nil || err2 != nil {
			t.Fatal(err, err2)
		}
		if !nearRelative(one.Lower, 1/two.Upper, 1e-9) || !nearRelative(one.Upper, 1/two.Lower, 1e-9) || !near(one.P, two.P, 1e-9) {
			t.Fatalf("ratio %+v, the other way %+v", one, two)
		}
		if !(one.Lower <= one.Value && one.Value <= one.Upper && one.Lower >= 0 && one.Lower < one.Upper) {
			t.Fatalf("ratio %+v", one)
		}
		if math.Abs(one.P-(1-level)) > 1e-9 && (one.P < 1-level) != (one.Lower > 1 || one.Upper < 1) {
			t.Fatalf("ratio: P and limits disagree: %+v", one)
		}
	})
}

type riskScoreCase struct {
	Level float64 `json:"level"`
	Four  []int   `json:"four"`
}

type riskScoreOutput struct {
	Version string
	Cases   []struct {
		Difference  []number
		DifferenceP number `json:"difference_p"`
		Ratio       []number
		RatioP      number `json:"ratio_p"`
		Statsmodels []number
	}
}

func TestRiskScoreAgainstStoredStatsmodels(t *testing.T) {
	var cases []riskScoreCase
	var out riskScoreOutput
	storedCrosscheck(t, "riskscore", &cases, &out)
	compareRiskScore(t, cases, out)
}

func TestRiskScoreAgainstStatsmodels(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 84))
	var cases []riskScoreCase
	for len(cases) < 500 {
		size := []int{3, 12, 60, 400}[r.IntN(4)]
		c := riskScoreCase{[]float64{0.8, 0.9, 0.95, 0.99}[r.IntN(4)], []int{r.IntN(size), r.IntN(size), r.IntN(size), r.IntN(size)}}
		if c.Four[0]+c.Four[1] > 0 && c.Four[2]+c.Four[3] > 0 {
			cases = append(cases, c)
		}
	}
	var out riskScoreOutput
	crosscheck(t, "riskscore.py", cases, &out)
	compareRiskScore(t, cases, out)
}

// Both sides iterate: 1e-6, of the ratio relatively. statsmodels stops its
// search at about 1e-6 of its own.
func compareRiskScore(t *testing.T, cases []riskScoreCase, out riskScoreOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		want := out.Cases[i]
		d, err := RiskDifferenceScore(c.Four[0], c.Four[1], c.Four[2], c.Four[3], LimitOptions{c.Level})
		must(t, err)
		check := func(what string, got float64, want number, tolerance float64) {
			t.Helper()
			if !near(got, float64(want), tolerance) && !nearRelative(got, float64(want), tolerance) {
				t.Errorf("case %d: %s: got %.12g, want %.12g (%+v)", i+1, what, got, float64(want), c)
			}
		}
		check("lower difference", d.Lower, want.Difference[0], 1e-6)
		check("upper difference", d.Upper, want.Difference[1], 1e-6)
		check("p of the difference", d.P, want.DifferenceP, 1e-8)
		if len(want.Ratio) == 0 {
			continue
		}
		r, err := RiskRatioScore(c.Four[0], c.Four[1], c.Four[2], c.Four[3], LimitOptions{c.Level})
		must(t, err)
		check("lower ratio", r.Lower, want.Ratio[0], 1e-6)
		check("upper ratio", r.Upper, want.Ratio[1], 1e-6)
		check("p of the ratio", r.P, want.RatioP, 1e-8)
		if len(want.Statsmodels) == 0 {
			continue
		}
		compared++
		check("lower ratio of statsmodels", r.Lower, want.Statsmodels[0], 2e-6)
		check("upper ratio of statsmodels", r.Upper, want.Statsmodels[1], 2e-6)
	}
	if compared < len(cases)/3 {
		t.Errorf("%d of %d cases compared with statsmodels", compared, len(cases))
	}
}
