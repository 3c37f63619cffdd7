package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleMantelHaenszelOddsRatio() {
	// Episode yes or no of children with pronated and other feet, in two sports.
	e, err := MantelHaenszelOddsRatio([]TableStratum{{18, 22, 21, 69}, {7, 13, 10, 30}}, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 2.28 (1.19 to 4.38)
}

func TestStratifiedBreslowDay(t *testing.T) {
	want := published.Load(t, "breslow-day-1980")
	a, b := want.Ints("exposed_cases"), want.Ints("exposed_controls")
	c, d := want.Ints("unexposed_cases"), want.Ints("unexposed_controls")
	var strata []TableStratum
	var all TableStratum
	var x [][]float64
	var y []bool
	for i, age := range want.Text("age") {
		s := TableStratum{a[i], b[i], c[i], d[i]}
		strata = append(strata, s)
		all = TableStratum{all.A + s.A, all.B + s.B, all.C + s.C, all.D + s.D}
		for _, cell := range []struct {
			n       int
			exposed float64
			is      bool
		}{{s.A, 1, true}, {s.B, 1, false}, {s.C, 0, true}, {s.D, 0, false}} {
			for range cell.n {
				row := make([]float64, 7)
				row[0], row[1+i] = cell.exposed, 1 // row[1], the youngest, is the reference
				x, y = append(x, append(row[:1], row[2:]...)), append(y, cell.is)
			}
		}
		if age != "25-34" && age != "75+" {
			one, err := OddsRatio(s.A, s.B, s.C, s.D, LimitOptions{})
			must(t, err)
			want.Check("or_"+age, one.Value)
		}
	}
	crude, err := OddsRatio(all.A, all.B, all.C, all.D, LimitOptions{})
	must(t, err)
	want.Check("crude_or", crude.Value)
	pooled, err := MantelHaenszelOddsRatio(strata, LimitOptions{})
	must(t, err)
	want.Check("mh_or", pooled.Value)
	corrected, err := CochranMantelHaenszel(strata, CMHOptions{Corrected: true})
	must(t, err)
	want.Check("chi2_corrected", corrected.Statistic)
	plain, err := OddsRatioHomogeneity(strata, HomogeneityOptions{Uncorrected: true})
	must(t, err)
	want.Check("homogeneity", plain.Statistic)
	tarone, err := OddsRatioHomogeneity(strata, HomogeneityOptions{})
	must(t, err)
	want.Check("homogeneity_corrected", tarone.Statistic)
	exact, err := CommonOddsRatioExact(strata, ExactOptions{})
	must(t, err)
	want.Check("conditional_mle", exact.Value)
	fit, err := FitLogistic(x, []string{"exposed", "35-44", "45-54", "55-64", "65-74", "75+"}, y, GLMOptions{})
	must(t, err)
	want.Check("unconditional_log_or", fit.Coefficients[1])
	want.Check("unconditional_se", fit.SE[1])
}

func TestStratifiedBerkeley(t *testing.T) {
	want := published.Load(t, "bickel-1975")
	a, b := want.Ints("men_admitted"), want.Ints("men_rejected")
	c, d := want.Ints("women_admitted"), want.Ints("women_rejected")
	var strata []TableStratum
	var all TableStratum
	for i := range a {
		s := TableStratum{a[i], b[i], c[i], d[i]}
		strata = append(strata, s)
		all = TableStratum{all.A + s.A, all.B + s.B, all.C + s.C, all.D + s.D}
	}
	pooled, err := MantelHaenszelOddsRatio(strata, LimitOptions{})
	must(t, err)
	want.Check("common_or", pooled.Value)
	want.Check("lower", pooled.Lower)
	want.Check("upper", pooled.Upper)
	test, err := CochranMantelHaenszel(strata, CMHOptions{})
	must(t, err)
	want.Check("chi2_uncorrected", test.Statistic)
	want.Check("p_uncorrected", test.P)
	crude, err := OddsRatio(all.A, all.B, all.C, all.D, LimitOptions{})
	must(t, err)
	want.Check("crude_or", crude.Value)
	chi, err := ChiSquare([][]int{{all.A, all.B}, {all.C, all.D}})
	must(t, err)
	want.Check("crude_chi2", chi.Statistic)
}

// By hand for 2 1 / 1 2 and 3 1 / 1 3. Odds ratio: R = 2/3 + 9/8, S = 1/6 + 1/8;
// variance (742/1849 + 408/301 + 50/49)/2. The exposed with the outcome are 1/2
// and 1 above what is expected, with variances 9/20 and 4/7. Risk ratio: 5/2 over
// 1, variance of the log (15/36 + 40/64)/(5/2). Risk difference: 3/2 over 7/2;
// Sato's P add up to −3/4 and his Q to 25/24, the binomial terms to 17/24.
func TestMantelHaenszelByHand(t *testing.T) {
	strata := []TableStratum{{2, 1, 1, 2}, {3, 1, 1, 3}}
	const z = 1.959963984540054
	const cmh = 315.0 / 143
	p := math.Erfc(math.Sqrt(cmh / 2))
	check := func(e Estimate, err error, value, variance float64, log bool) {
		t.Helper()
		must(t, err)
		se := math.Sqrt(variance)
		lower, upper := value-z*se, value+z*se
		if log {
			lower, upper = value*math.Exp(-z*se), value*math.Exp(z*se)
		}
		if !near(e.Value, value, 1e-14) || !near(e.SE, se, 1e-14) || !near(e.Lower, lower, 1e-13) || !near(e.Upper, upper, 1e-13) || !near(e.P, p, 1e-13) || e.Warnings != nil {
			t.Errorf("%+v, want %v with variance %v, p %v", e, value, variance, p)
		}
	}
	e, err := MantelHaenszelOddsRatio(strata, LimitOptions{})
	check(e, err, 43.0/7, (742.0/1849+408.0/301+50.0/49)/2, true)
	e, err = MantelHaenszelRiskRatio(strata, LimitOptions{})
	check(e, err, 2.5, 5.0/12, true)
	e, err = MantelHaenszelRiskDifference(strata, PooledDifferenceOptions{})
	check(e, err, 3.0/7, 121.0/2058, false)
	e, err = MantelHaenszelRiskDifference(strata, PooledDifferenceOptions{Variance: GreenlandRobinsVariance})
	check(e, err, 3.0/7, 17.0/294, false)
	for _, c := range []struct {
		corrected bool
		want      float64
	}{{false, cmh}, {true, 140.0 / 143}} {
		test, err := CochranMantelHaenszel(strata, CMHOptions{c.corrected})
		must(t, err)
		if !near(test.Statistic, c.want, 1e-14) || test.DF != 1 || !near(test.P, math.Erfc(math.Sqrt(c.want/2)), 1e-13) {
			t.Errorf("corrected %v: %+v, want %v", c.corrected, test, c.want)
		}
	}
}

// A stratum with an empty margin changes no odds ratio and no test of one, and
// is counted; one without an outcome does not change a pooled risk ratio but
// draws a pooled difference to 0.
func TestEmptyMarginStrata(t *testing.T) {
	some := []TableStratum{{2, 1, 1, 2}, {3, 1, 1, 3}}
	more := append([]TableStratum{{0, 5, 0, 7}, {4, 0, 2, 0}, {0, 0, 3, 3}, {}}, some...)
	type pooled struct {
		name      string
		compute   func([]TableStratum) ([]float64, []Warning, error)
		left      int // of the strata of more
		unchanged bool
	}
	estimate := func(e Estimate, err error) ([]float64, []Warning, error) {
		return []float64{e.Value, e.Lower, e.Upper, e.P}, e.Warnings, err
	}
	test := func(t Test, err error) ([]float64, []Warning, error) {
		return []float64{t.P}, t.Warnings, err
	}
	for _, c := range []pooled{
		{"odds ratio", func(s []TableStratum) ([]float64, []Warning, error) {
			return estimate(MantelHaenszelOddsRatio(s, LimitOptions{}))
		}, 4, true},
		{"exact odds ratio", func(s []TableStratum) ([]float64, []Warning, error) {
			return estimate(CommonOddsRatioExact(s, ExactOptions{}))
		}, 4, true},
		{"CMH", func(s []TableStratum) ([]float64, []Warning, error) {
			return test(CochranMantelHaenszel(s, CMHOptions{}))
		}, 4, true},
		{"exact test", func(s []TableStratum) ([]float64, []Warning, error) { return test(ConditionalIndependenceExact(s)) }, 4, true},
		{"Zelen", func(s []TableStratum) ([]float64, []Warning, error) { return test(HomogeneityExact(s)) }, 4, true},
		{"Breslow-Day", func(s []TableStratum) ([]float64, []Warning, error) {
			return test(OddsRatioHomogeneity(s, HomogeneityOptions{}))
		}, 4, true},
		{"risk ratio", func(s []TableStratum) ([]float64, []Warning, error) {
			return estimate(MantelHaenszelRiskRatio(s, LimitOptions{}))
		}, 3, false},
		{"risk difference", func(s []TableStratum) ([]float64, []Warning, error) {
			return estimate(MantelHaenszelRiskDifference(s, PooledDifferenceOptions{}))
		}, 2, false},
	} {
		want, none, err := c.compute(some)
		must(t, err)
		got, warnings, err := c.compute(more)
		must(t, err)
		if len(none) > 0 && warned(none, "empty-margin-strata") || !warned(warnings, "empty-margin-strata") {
			t.Errorf("%s: warnings %v and %v", c.name, none, warnings)
		} else if text := fmt.Sprintf("%d of 6 strata", c.left); !strings.Contains(fmt.Sprint(warnings), text) {
			t.Errorf("%s: warnings %v, want %q", c.name, warnings, text)
		}
		same := true
		for i := range want {
			same = same && near(got[i], want[i], 1e-13)
		}
		if same != c.unchanged {
			t.Errorf("%s: %v, with empty strata %v", c.name, want, got)
		}
	}
	with, err := MantelHaenszelRiskDifference(append([]TableStratum{{0, 4, 0, 4}}, some...), PooledDifferenceOptions{})
	must(t, err)
	if !near(with.Value, 1.5/5.5, 1e-14) {
		t.Errorf("difference %v with a stratum without an outcome, want 3/11", with.Value)
	}
}

// Order of strata does not matter; exchanging groups, or outcomes for odds
// ratios, inverts ratios and changes the sign of differences; a pair of strata
// with one table has that table's odds ratio.
func TestStratifiedProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(59, 719))
	for range 300 {
		var strata, turned, mirrored []TableStratum
		for range 2 + r.IntN(4) {
			f := randomTable(r, 2, 2, 12)
			s := TableStratum{f[0][0], f[0][1], f[1][0], f[1][1]}
			strata = append(strata, s)
			turned = append([]TableStratum{{s.C, s.D, s.A, s.B}}, turned...)
			mirrored = append(mirrored, TableStratum{s.B, s.A, s.D, s.C})
		}
		inverse := func(name string, f func([]TableStratum) (Estimate, error), others ...[]TableStratum) {
			t.Helper()
			e, err := f(strata)
			for _, other := range others {
				o, err2 := f(other)
				if (err == nil) != (err2 == nil) {
					t.Fatalf("%s of %v: %v, other way %v", name, strata, err, err2)
				}
				if err == nil && (!nearRelative(e.Lower, 1/o.Upper, 1e-9) || !nearRelative(e.Upper, 1/o.Lower, 1e-9) || !nearRelative(e.Value, 1/o.Value, 1e-9) || !nearRelative(e.P, o.P, 1e-9)) {
					t.Fatalf("%s of %v: %+v, other way %+v", name, strata, e, o)
				}
			}
		}
		inverse("odds ratio", func(s []TableStratum) (Estimate, error) { return MantelHaenszelOddsRatio(s, LimitOptions{}) }, turned, mirrored)
		inverse("risk ratio", func(s []TableStratum) (Estimate, error) { return MantelHaenszelRiskRatio(s, LimitOptions{}) }, turned)
		for _, midP := range []bool{false, true} {
			inverse("exact", func(s []TableStratum) (Estimate, error) { return CommonOddsRatioExact(s, ExactOptions{MidP: midP}) }, turned, mirrored)
		}
		for _, v := range []RiskDifferenceVariance{SatoVariance, GreenlandRobinsVariance} {
			e, err := MantelHaenszelRiskDifference(strata, PooledDifferenceOptions{Variance: v})
			for i, other := range [][]TableStratum{turned, mirrored} {
				o, err2 := MantelHaenszelRiskDifference(other, PooledDifferenceOptions{Variance: v})
				if (err == nil) != (err2 == nil) || err == nil && (!near(e.Lower, -o.Upper, 1e-12) || !near(e.Upper, -o.Lower, 1e-12)) {
					t.Fatalf("difference of %v: %+v, %v; other way %d %+v, %v", strata, e, err, i, o, err2)
				}
			}
		}
		for _, f := range []func([]TableStratum) (Test, error){
			func(s []TableStratum) (Test, error) { return OddsRatioHomogeneity(s, HomogeneityOptions{}) },
			HomogeneityExact, RiskRatioHomogeneity, RiskDifferenceHomogeneity,
		} {
			one, err := f(strata)
			two, err2 := f(turned)
			if (err == nil) != (err2 == nil) || err == nil && !near(one.P, two.P, 1e-9) {
				t.Fatalf("%v: %+v, %v, other way %+v, %v", strata, one, err, two, err2)
			}
		}
	}
}
