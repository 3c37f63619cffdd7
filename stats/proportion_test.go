package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleProportion() {
	e, err := Proportion(0, 20, ProportionOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f%% (%.0f%% to %.1f%%)\n", 100*e.Value, 100*e.Lower, 100*e.Upper)
	// Output: 0% (0% to 16.1%)
}

func TestProportionNewcombe(t *testing.T) {
	want := published.Load(t, "newcombe-1998-one")
	n := want.Ints("n")
	for i, events := range want.Ints("events") {
		for name, method := range map[string]ProportionMethod{
			"score": Wilson, "exact": ClopperPearson, "mid_p": ProportionMidP, "score_cc": WilsonCorrected,
			"likelihood": ProportionLikelihood, "wald": ProportionWald, "wald_cc": ProportionWaldCorrected,
		} {
			e, err := Proportion(events, n[i], ProportionOptions{Method: method})
			must(t, err)
			want.Check(fmt.Sprintf("of_%d_%s_lower", n[i], name), e.Lower)
			want.Check(fmt.Sprintf("of_%d_%s_upper", n[i], name), e.Upper)
		}
	}
}

// Wilson's limits are where the score test of the estimate is at its critical
// value: (p̂−p)² = z² p(1−p)/n. The exact limits of nobody in n solve
// (1−p)ⁿ = 0.025.
func TestProportionDefinitions(t *testing.T) {
	for n := 1; n < 40; n++ {
		for k := range n + 1 {
			for _, level := range []float64{0.8, 0.95, 0.99} {
				e, err := Proportion(k, n, ProportionOptions{Level: level})
				must(t, err)
				z := criticalZ(level)
				for _, p := range []float64{e.Lower, e.Upper} {
					if got := math.Pow(e.Value-p, 2) - z*z*p*(1-p)/float64(n); math.Abs(got) > 1e-13 {
						t.Errorf("%d of %d at %v: limit %v misses its equation by %v", k, n, level, p, got)
					}
				}
				if (e.Lower == 0) != (k == 0) || (e.Upper == 1) != (k == n) {
					t.Errorf("%d of %d: limits %v to %v", k, n, e.Lower, e.Upper)
				}
			}
		}
		e, err := Proportion(0, n, ProportionOptions{Method: ClopperPearson})
		must(t, err)
		if want := 1 - math.Pow(0.025, 1/float64(n)); !near(e.Upper, want, 1e-13) {
			t.Errorf("0 of %d: exact upper limit %v, want %v", n, e.Upper, want)
		}
	}
}

func TestProportionRefuses(t *testing.T) {
	if _, err := Proportion(0, 0, ProportionOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("0 of 0: error %v, want %v", err, ErrNoData)
	}
	panics(t, "3 events among 2", func() { _, _ = Proportion(3, 2, ProportionOptions{}) })
	panics(t, "unknown ProportionMethod 99", func() { _, _ = Proportion(1, 2, ProportionOptions{Method: 99}) })
}

// Likelihood limits meet their equation, of nobody in n the closed form; the
// corrected limits of Wilson are those of prop.test(correct = TRUE) of R 4.2.2.
func TestProportionOtherDefinitions(t *testing.T) {
	for n := 1; n < 30; n++ {
		for k := range n + 1 {
			e, err := Proportion(k, n, ProportionOptions{Method: ProportionLikelihood})
			must(t, err)
			logLik := func(p float64) (l float64) {
				if k > 0 {
					l += float64(k) * math.Log(p)
				}
				if k < n {
					l += float64(n-k) * math.Log(1-p)
				}
				return l
			}
			for i, p := range []float64{e.Lower, e.Upper} {
				if k == n*i {
					if p != float64(i) {
						t.Errorf("%d of %d: limit %v", k, n, p)
					}
					continue
				}
				if fall := 2 * (logLik(e.Value) - logLik(p)); !near(fall, 3.841458820694124, 1e-8) {
					t.Errorf("%d of %d: twice the fall at %v is %v", k, n, p, fall)
				}
			}
		}
	}
	for _, c := range []struct {
		k, n         int
		lower, upper float64
	}{{81, 263, 0.253508682295, 0.368176201043}, {0, 20, 0, 0.200453345013}, {7, 9, 0.401909346111, 0.960534618581}} {
		e, err := Proportion(c.k, c.n, ProportionOptions{Method: WilsonCorrected})
		must(t, err)
		if !near(e.Lower, c.lower, 1e-11) || !near(e.Upper, c.upper, 1e-11) {
			t.Errorf("%d of %d: %v to %v, want %v to %v", c.k, c.n, e.Lower, e.Upper, c.lower, c.upper)
		}
	}
}
