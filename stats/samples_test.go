package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestSleepPublished(t *testing.T) {
	want := published.Load(t, "student-1908")
	a, b := want.Floats("drug1"), want.Floats("drug2")
	p, err := PairedTest(a, b, 0)
	must(t, err)
	want.Check("mean difference", -p.Difference.Value)
	want.Check("deviation with divisor n", p.Difference.SE*math.Sqrt(10)*math.Sqrt(0.9))
	want.Check("t of pairs", p.Test.Statistic)
	want.Check("P of pairs", p.Test.P)
	want.Check("lower", p.Difference.Lower)
	want.Check("upper", p.Difference.Upper)
	w, err := WelchTest(a, b, 0)
	must(t, err)
	want.Check("Welch's t", w.Test.Statistic)
	want.Check("Welch's degrees of freedom", w.Test.DF)
	want.Check("P of Welch's test", w.Test.P)
}

func TestRanksPublished(t *testing.T) {
	want := published.Load(t, "hollander-wolfe-1973")
	groups := map[string][]float64{}
	values := want.Floats("value")
	for i, g := range want.Text("group") {
		groups[g] = append(groups[g], values[i])
	}
	r, err := RankSum(groups["at term"], groups["12 to 26 weeks"])
	must(t, err)
	want.Check("W", r.W)
	want.Check("P one-sided", r.Test.P/2)
	k, err := KruskalWallis([][]float64{groups["normal"], groups["obstructive"], groups["asbestosis"]})
	must(t, err)
	want.Check("H", k.Statistic)
	want.Check("P of H", k.P)
}

// The largest U whose two-sided P does not exceed 0.05, of samples made to have
// each U.
func TestRankSumCriticalValues(t *testing.T) {
	want := published.Load(t, "siegel-1956")
	first, second := want.Ints("n1"), want.Ints("n2")
	for i, n1 := range first {
		n2 := second[i]
		critical := -1
		for u := 0; u <= n1*n2/2; u++ {
			a, b := samplesWith(u, n1, n2)
			r, err := RankSum(a, b)
			must(t, err)
			if int(r.W) != u {
				t.Fatalf("a sample of U %v, want %d", r.W, u)
			}
			if r.Test.P <= 0.05 {
				critical = u
			}
		}
		want.Check(fmt.Sprintf("critical U of %d and %d", n1, n2), float64(critical))
	}
}

// samplesWith makes samples with u pairs in which the first's value is larger.
func samplesWith(u, n1, n2 int) (a, b []float64) {
	for j := range n2 {
		b = append(b, float64(2*j+2))
	}
	for range n1 {
		k := min(u, n2)
		a = append(a, float64(2*k+1)+float64(len(a))/100)
		u -= k
	}
	return a, b
}

func TestAnovaCertified(t *testing.T) {
	want := published.Load(t, "nist-sirstv")
	values := want.Floats("y")
	groups := make([][]float64, 5)
	for i, g := range want.Ints("instrument") {
		groups[g-1] = append(groups[g-1], values[i])
	}
	r, err := AnalysisOfVariance(groups)
	must(t, err)
	want.Check("F", r.Test.Statistic)
	want.Check("between", r.Between)
	want.Check("within", r.Within)
	want.Check("residual SD", r.ResidualSD)
}

// By hand: shares 1/2 and 1/4 of two levels, (1/4)/√((1/4 + 3/16)/2); means 3
// and 1 with variances 1 and 4.
func TestStandardisedDifferencesByHand(t *testing.T) {
	d, err := StandardisedShares([]int{5, 5}, []int{9, 3})
	must(t, err)
	if want := 0.25 / math.Sqrt((0.25+3.0/16)/2); !near(d, want, 1e-12) {
		t.Errorf("shares %v, want %v", d, want)
	}
	m, err := StandardisedMeanDifference([]float64{2, 3, 4}, []float64{-1, 1, 3})
	must(t, err)
	if want := 2 / math.Sqrt(2.5); !near(m, want, 1e-12) {
		t.Errorf("means %v, want %v", m, want)
	}
	if _, err := StandardisedShares([]int{5, 0}, []int{3, 0}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("one level: %v", err)
	}
	if _, err := StandardisedShares([]int{5, 0}, []int{0, 3}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("levels apart: %v", err)
	}
}

func TestSamplesRefuse(t *testing.T) {
	same := []float64{2, 2, 2}
	for _, c := range []struct {
		name string
		err  func() error
		want error
	}{
		{"Welch of one value", func() error { _, err := WelchTest([]float64{1}, same, 0); return err }, ErrTooFewRows},
		{"Welch without variation", func() error { _, err := WelchTest(same, same, 0); return err }, ErrNoVariance},
		{"Student of one and one", func() error { _, err := StudentTest([]float64{1}, []float64{2}, 0); return err }, ErrTooFewRows},
		{"pairs that differ alike", func() error { _, err := PairedTest([]float64{1, 2}, []float64{2, 3}, 0); return err }, ErrNoVariance},
		{"not a number", func() error { _, err := PairedTest([]float64{1, math.NaN()}, []float64{2, 3}, 0); return err }, ErrNotFinite},
		{"ranks of nothing", func() error { _, err := RankSum(nil, same); return err }, ErrNoData},
		{"ranks of one value", func() error { _, err := RankSum(same, same); return err }, ErrNoVariance},
		{"one group", func() error { _, err := AnalysisOfVariance([][]float64{same, nil}); return err }, ErrTooFewRows},
		{"groups of one value", func() error { _, err := AnalysisOfVariance([][]float64{{1}, {2}}); return err }, ErrTooFewRows},
		{"no variation within", func() error { _, err := AnalysisOfVariance([][]float64{same, same}); return err }, ErrNoVariance},
		{"Welch's, a single value", func() error { _, err := WelchAnalysisOfVariance([][]float64{{1}, {2, 3}}); return err }, ErrTooFewRows},
		{"Welch's, no variation", func() error { _, err := WelchAnalysisOfVariance([][]float64{same, {2, 3}}); return err }, ErrNoVariance},
		{"Kruskal-Wallis of one value", func() error { _, err := KruskalWallis([][]float64{same, same}); return err }, ErrNoVariance},
	} {
		if err := c.err(); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

type samplesCase struct {
	Groups [][]float64 `json:"groups"`
}

func randomSamples(r *rand.Rand) samplesCase {
	var c samplesCase
	step := []float64{0, 0.5, 1}[r.IntN(3)]
	for range 2 + r.IntN(3) {
		var g []float64
		spread, size := 0.5+2*r.Float64(), 3+r.IntN(30)
		if r.IntN(3) == 0 {
			size = 3 + r.IntN(4)
		}
		for range size {
			x := 10 + spread*r.NormFloat64()
			if step > 0 {
				x = math.Round(x/step) * step
			}
			g = append(g, x)
		}
		g[0] += 0.25 // so that no group is constant
		c.Groups = append(c.Groups, g)
	}
	return c
}

type samplesOutput struct {
	Version []string
	Cases   []struct {
		Welch, Student, Paired []number
		W, Ranks               []float64
		Tied                   []bool
		Permuted               []float64
		Anova, Oneway, Kruskal []float64
	}
}

func TestSamplesAgainstStoredR(t *testing.T) {
	var cases []samplesCase
	var out samplesOutput
	storedCrosscheck(t, "samples", &cases, &out)
	compareSamples(t, cases, out)
}

// TestSamplesAgainstR compares with base R on 1,100 random sets of groups, two
// thirds of them with ties.
func TestSamplesAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 8))
	var cases []samplesCase
	for range 1100 {
		cases = append(cases, randomSamples(r))
	}
	var out samplesOutput
	crosscheck(t, "samples.R", cases, &out)
	compareSamples(t, cases, out)
}

// Closed forms on both sides: 1e-8. R's exact test has no ties: those are
// compared with all splits where there are few values, and with its normal
// approximation where there are many.
func compareSamples(t *testing.T, cases []samplesCase, out samplesOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	const close = 1e-8
	ranked := 0
	for i, c := range cases {
		want := out.Cases[i]
		a, b := c.Groups[0], c.Groups[1]
		var pairs [][2]float64
		means := func(m MeansResult, err error, w []number) {
			if len(w) == 0 || math.IsNaN(float64(w[0])) || errors.Is(err, ErrNoVariance) {
				return
			}
			must(t, err)
			pairs = append(pairs, [2]float64{m.Test.Statistic, float64(w[0])}, [2]float64{m.Test.DF, float64(w[1])}, [2]float64{m.Test.P, float64(w[2])},
				[2]float64{m.Difference.Lower, float64(w[3])}, [2]float64{m.Difference.Upper, float64(w[4])})
		}
		m, err := WelchTest(a, b, 0)
		means(m, err, want.Welch)
		m, err = StudentTest(a, b, 0)
		means(m, err, want.Student)
		k := min(len(a), len(b))
		m, err = PairedTest(a[:k], b[:k], 0)
		means(m, err, want.Paired)
		ranks, err := RankSum(a, b)
		must(t, err)
		pairs = append(pairs, [2]float64{ranks.W, want.W[0]})
		exact := len(a)+len(b) <= rankSumExact
		switch {
		case exact && want.Permuted[0] >= 0:
			ranked++
			pairs = append(pairs, [2]float64{ranks.Test.P, want.Permuted[0]})
		case exact && !want.Tied[0], !exact:
			ranked++
			pairs = append(pairs, [2]float64{ranks.Test.P, want.Ranks[0]})
		}
		v, err := AnalysisOfVariance(c.Groups)
		must(t, err)
		pairs = append(pairs, [2]float64{v.Between, want.Anova[0]}, [2]float64{v.Within, want.Anova[1]}, [2]float64{v.Test.Statistic, want.Anova[2]}, [2]float64{v.Test.P, want.Anova[3]})
		w, err := WelchAnalysisOfVariance(c.Groups)
		must(t, err)
		pairs = append(pairs, [2]float64{w.Statistic, want.Oneway[0]}, [2]float64{w.DF, want.Oneway[1]}, [2]float64{w.P, want.Oneway[3]})
		kw, err := KruskalWallis(c.Groups)
		must(t, err)
		pairs = append(pairs, [2]float64{kw.Statistic, want.Kruskal[0]}, [2]float64{kw.DF, want.Kruskal[1]}, [2]float64{kw.P, want.Kruskal[2]})
		for j, p := range pairs {
			if !near(p[0], p[1], close) {
				t.Errorf("case %d, quantity %d: got %v, want %v", i+1, j, p[0], p[1])
			}
		}
	}
	t.Logf("%s: %d sets, %d rank-sum tests", out.Version, len(cases), ranked)
}
