package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func ExampleProbabilisticBias() {
	r, err := ProbabilisticBias(62, 90, 38, 210, BiasAnalysis{
		Cases: ClassificationBelief{
			Sensitivity: TrapezoidalBelief(0.80, 0.88, 0.92, 0.98),
			Specificity: TriangularBelief(0.75, 0.80, 0.85),
		},
		Draws: 5000, Seed: 1,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("as rated %.1f; corrected, median of %d draws, above 7: %v\n", r.Conventional.Value, r.Draws, r.Systematic.Median > 7)
	// Output: as rated 3.8; corrected, median of 5000 draws, above 7: true
}

// Without doubt about the rating every draw is the corrected ratio, and without
// error in it the total interval is Woolf's: percentiles of 20,000 draws know
// the ends of a normal interval of width 1 to about 0.02 standard errors, four of
// which are allowed.
func TestProbabilisticBiasDegenerate(t *testing.T) {
	known := ClassificationBelief{Known(0.9), Known(0.8)}
	other := ClassificationBelief{Known(0.8), Known(0.9)}
	for _, risk := range []bool{false, true} {
		r, err := ProbabilisticBias(62, 48, 38, 152, BiasAnalysis{Cases: known, Others: &other, RiskRatio: risk, Draws: 2000})
		must(t, err)
		want := 6.0
		if risk {
			want = 3
		}
		for _, x := range []float64{r.Systematic.Median, r.Systematic.Lower, r.Systematic.Upper} {
			if !near(x, want, 1e-12) {
				t.Errorf("got %+v, want %v", r.Systematic, want)
			}
		}
		if !(r.Total.Lower < r.Conventional.Lower*want/r.Conventional.Value) {
			t.Errorf("total %+v is no wider than the conventional limits about %v", r.Total, want)
		}
		certain := ClassificationBelief{Known(1), Known(1)}
		r, err = ProbabilisticBias(62, 48, 38, 152, BiasAnalysis{Cases: certain, RiskRatio: risk, Seed: 4})
		must(t, err)
		e := r.Conventional
		for _, one := range []struct{ got, want float64 }{{r.Total.Median, e.Value}, {r.Total.Lower, e.Lower}, {r.Total.Upper, e.Upper}} {
			if math.Abs(math.Log(one.got/one.want))/e.SE > 0.08 {
				t.Errorf("total %+v, conventional %v (%v to %v)", r.Total, e.Value, e.Lower, e.Upper)
			}
		}
	}
}

// Registries with a true odds ratio of 3, rated with Se 0.85 and Sp 0.9: as rated
// the ratio is biased towards 1, the median of the analysis recovers it and its
// interval covers 3 about as often as it says. 300 registries know a share of
// 0.95 to 0.0126; the mean of the logarithms has an error of 0.02.
func TestProbabilisticBiasRecovers(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 5))
	const registries = 300
	covered, logs, rated := 0, 0.0, 0.0
	for i := range registries {
		var n [4]int
		for range 1200 {
			exposed, u := r.Float64() < 0.4, r.Float64()
			risk := 0.2
			if exposed {
				risk = 3.0 / 7 // odds 3/4 against 1/4
			}
			seen := r.Float64() < 0.1
			if exposed {
				seen = r.Float64() < 0.85
			}
			cell := 0
			if !seen {
				cell = 2
			}
			if u > risk {
				cell++
			}
			n[cell]++
		}
		b, err := ProbabilisticBias(n[0], n[1], n[2], n[3], BiasAnalysis{
			Cases: ClassificationBelief{UniformBelief(0.83, 0.87), UniformBelief(0.88, 0.92)}, Draws: 1000, Seed: uint64(i),
		})
		must(t, err)
		logs += math.Log(b.Systematic.Median) / registries
		rated += math.Log(b.Conventional.Value) / registries
		if b.Total.Lower <= 3 && 3 <= b.Total.Upper {
			covered++
		}
	}
	if math.Abs(logs-math.Log(3)) > 0.06 || rated > math.Log(3)-0.2 {
		t.Errorf("corrected %v, as rated %v, true 3", math.Exp(logs), math.Exp(rated))
	}
	if share := float64(covered) / registries; share < 0.91 {
		t.Errorf("covered %v of the time", share)
	}
}

// A correlation of 1 between equal distributions is rating that does not depend
// on the outcome; the sensitivities of uncorrelated ones are not correlated.
func TestProbabilisticBiasCorrelation(t *testing.T) {
	belief := ClassificationBelief{BetaBelief(45, 5), UniformBelief(0.75, 0.95)}
	opts := BiasAnalysis{Cases: belief, Draws: 1500, Seed: 9}
	same, err := ProbabilisticBias(62, 90, 38, 210, opts)
	must(t, err)
	opts.Others, opts.Correlation = &belief, 1
	one, err := ProbabilisticBias(62, 90, 38, 210, opts)
	must(t, err)
	if same.Systematic != one.Systematic {
		t.Errorf("correlation 1: %+v, the same rating %+v", one.Systematic, same.Systematic)
	}
	opts.Correlation = 0
	apart, err := ProbabilisticBias(62, 90, 38, 210, opts)
	must(t, err)
	if apart.Systematic == one.Systematic {
		t.Error("a correlation changes nothing")
	}
	for _, rho := range []float64{0, 0.8, -0.5} {
		opts.Correlation = rho
		var x, y []float64
		for i := range 4000 {
			m := drawMisclassification(rand.New(rand.NewPCG(5, uint64(i))), opts)
			x, y = append(x, m.Cases.Specificity), append(y, m.Others.Specificity)
		}
		mx, sx := meanSD(x)
		my, sy := meanSD(y)
		sum := 0.0
		for i := range x {
			sum += (x[i] - mx) * (y[i] - my) / sx / sy / 3999
		}
		// Of uniforms made from normals with ρ the correlation is (6/π) asin(ρ/2).
		if want := 6 / math.Pi * math.Asin(rho/2); math.Abs(sum-want) > 0.06 {
			t.Errorf("correlation %v, want %v", sum, want)
		}
	}
}

func TestProbabilisticBiasLeavesOut(t *testing.T) {
	wide := ClassificationBelief{UniformBelief(0.5, 1), UniformBelief(0.6, 1)}
	r, err := ProbabilisticBias(30, 40, 70, 110, BiasAnalysis{Cases: wide, Draws: 2000})
	must(t, err)
	if r.Impossible == 0 || !warned(r.Warnings, "impossible-draws") || !(r.Systematic.Lower > 0) {
		t.Errorf("%+v", r)
	}
	_, err = ProbabilisticBias(5, 9, 95, 90, BiasAnalysis{Cases: ClassificationBelief{Known(0.9), Known(0.9)}})
	if !errors.Is(err, ErrNegative) {
		t.Errorf("a table that cannot be: %v", err)
	}
	_, err = ProbabilisticBias(0, 9, 95, 90, BiasAnalysis{Cases: wide})
	if !errors.Is(err, ErrZeroCell) {
		t.Errorf("a zero cell: %v", err)
	}
	panics(t, "a correlation of one", func() { _, _ = ProbabilisticBias(5, 9, 9, 9, BiasAnalysis{Cases: wide, Correlation: 0.5}) })
	panics(t, "order within 0 to 1", func() { TriangularBelief(0.9, 0.8, 1) })
	panics(t, "beta distribution", func() { BetaBelief(0, 1) })
	panics(t, "was not made", func() { BiasDistribution{}.quantile(0.5) })
}

// The distribution function of the trapezoid, written out, undoes the quantile.
func TestTrapezoidalBelief(t *testing.T) {
	a, b, c, d := 0.7, 0.75, 0.9, 0.95
	density := func(x float64) float64 {
		switch {
		case x < b:
			return (x - a) / (b - a)
		case x < c:
			return 1
		}
		return (d - x) / (d - c)
	}
	belief := TrapezoidalBelief(a, b, c, d)
	const steps = 200000
	area, i := 0.0, 0
	for _, u := range []float64{0.01, 0.1, 0.124, 0.126, 0.5, 0.9, 0.99} {
		x := belief.quantile(u)
		for ; a+(d-a)*(float64(i)+0.5)/steps < x; i++ {
			area += density(a+(d-a)*(float64(i)+0.5)/steps) * (d - a) / steps / 0.2
		}
		if math.Abs(area-u) > 1e-5 {
			t.Errorf("at %v: %v of the area is below, want %v", x, area, u)
		}
	}
	if got := fmt.Sprint(belief, Known(0.9), UniformBelief(0, 1), BetaBelief(2, 3)); got != "trapezoidal(0.7, 0.75, 0.9, 0.95) 0.9 uniform(0, 1) beta(2, 3)" {
		t.Errorf("names: %s", got)
	}
}
