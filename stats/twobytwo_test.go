package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleOddsRatio() {
	// 18 of 40 children with pronated feet had an episode, 21 of 90 others.
	e, err := OddsRatio(18, 22, 21, 69, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 2.69 (1.22 to 5.93)
}

func ExampleRiskRatio() {
	e, err := RiskRatio(18, 22, 21, 69, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 1.93 (1.16 to 3.20)
}

func ExampleRiskDifference() {
	e, err := RiskDifference(0, 12, 0, 30, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 0.00 (-0.11 to 0.24)
}

func TestRiskDifferenceNewcombe(t *testing.T) {
	want := published.Load(t, "newcombe-1998-two")
	x1, n1, x2, n2 := want.Ints("x1"), want.Ints("n1"), want.Ints("x2"), want.Ints("n2")
	for i, contrast := range want.Text("contrast") {
		e, err := RiskDifference(x1[i], n1[i]-x1[i], x2[i], n2[i]-x2[i], LimitOptions{})
		must(t, err)
		want.Check(contrast+"_hybrid_lower", e.Lower)
		want.Check(contrast+"_hybrid_upper", e.Upper)
	}
	score, err := RiskDifferenceScore(x1[0], n1[0]-x1[0], x2[0], n2[0]-x2[0], LimitOptions{})
	must(t, err)
	want.Check("a_score_lower", score.Lower)
	want.Check("a_score_upper", score.Upper)
	for name, f := range map[string]func(a, b, c, d int, opts LimitOptions) (Estimate, error){
		"wald": RiskDifferenceWald, "hybrid_cc": RiskDifferenceCorrected, "mee": RiskDifferenceMee,
	} {
		e, err := f(x1[0], n1[0]-x1[0], x2[0], n2[0]-x2[0], LimitOptions{})
		must(t, err)
		want.Check("a_"+name+"_lower", e.Lower)
		want.Check("a_"+name+"_upper", e.Upper)
	}
	if _, err := RiskDifferenceWald(10, 0, 0, 20, LimitOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("both risks at their ends: %v", err)
	}
}

// By hand. Odds ratio of 10 20 / 5 40: 4, with variance 0.1+0.05+0.2+0.025.
// Risk ratio of 10 30 / 5 35: 2, with variance 30/400 + 35/200 = 1/4.
func TestTwoByTwoByHand(t *testing.T) {
	const z = 1.959963984540054
	for _, c := range []struct {
		name      string
		f         func(a, b, c, d int, opts LimitOptions) (Estimate, error)
		n         [4]int
		value, se float64
	}{
		{"odds ratio", OddsRatio, [4]int{10, 20, 5, 40}, 4, math.Sqrt(0.375)},
		{"risk ratio", RiskRatio, [4]int{10, 30, 5, 35}, 2, 0.5},
		{"risk ratio, everybody in one group", RiskRatio, [4]int{8, 0, 5, 5}, 2, math.Sqrt(0.1)},
	} {
		e, err := c.f(c.n[0], c.n[1], c.n[2], c.n[3], LimitOptions{})
		must(t, err)
		if !near(e.Value, c.value, 1e-14) || !near(e.SE, c.se, 1e-14) ||
			!near(e.Lower, c.value*math.Exp(-z*c.se), 1e-13) || !near(e.Upper, c.value*math.Exp(z*c.se), 1e-13) {
			t.Errorf("%s: got %+v, want %v with error %v", c.name, e, c.value, c.se)
		}
		// erfc(x/√2) is the definition of the two-sided p-value.
		if p := math.Erfc(math.Log(c.value) / c.se / math.Sqrt2); !near(e.P, p, 1e-14) {
			t.Errorf("%s: p %v, want %v", c.name, e.P, p)
		}
	}
}

func TestTwoByTwoRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		f    func(a, b, c, d int, opts LimitOptions) (Estimate, error)
		n    [4]int
		want error
	}{
		{"odds ratio", OddsRatio, [4]int{0, 1, 1, 1}, ErrZeroCell},
		{"odds ratio", OddsRatio, [4]int{1, 0, 1, 1}, ErrZeroCell},
		{"odds ratio", OddsRatio, [4]int{1, 1, 0, 1}, ErrZeroCell},
		{"odds ratio", OddsRatio, [4]int{1, 1, 1, 0}, ErrZeroCell},
		{"odds ratio", OddsRatio, [4]int{0, 0, 1, 1}, ErrNoData},
		{"risk ratio", RiskRatio, [4]int{0, 1, 1, 1}, ErrZeroCell},
		{"risk ratio", RiskRatio, [4]int{1, 1, 0, 1}, ErrZeroCell},
		{"risk ratio", RiskRatio, [4]int{3, 0, 4, 0}, ErrNoVariance},
		{"risk ratio", RiskRatio, [4]int{3, 2, 0, 0}, ErrNoData},
		{"risk difference", RiskDifference, [4]int{0, 0, 1, 1}, ErrNoData},
		{"exact odds ratio", OddsRatioExact, [4]int{0, 4, 0, 7}, ErrNoVariance},
		{"exact odds ratio", OddsRatioExact, [4]int{4, 0, 7, 0}, ErrNoVariance},
		{"exact odds ratio", OddsRatioExact, [4]int{0, 0, 1, 1}, ErrNoData},
	} {
		if _, err := c.f(c.n[0], c.n[1], c.n[2], c.n[3], LimitOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s of %v: error %v, want %v", c.name, c.n, err, c.want)
		}
	}
	panics(t, "negative count", func() { _, _ = OddsRatio(1, -1, 1, 1, LimitOptions{}) })
}
