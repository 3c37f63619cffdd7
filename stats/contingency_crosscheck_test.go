package stats

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

// A contingencyCase is what contingency.R and contingency.py read.
type contingencyCase struct {
	Level  float64   `json:"level"`
	Four   []int     `json:"four"`
	Strata [][]int   `json:"strata"`
	Cubes  [][][]int `json:"cubes"`
	Pairs  []int     `json:"pairs"`
	Wide   [][]int   `json:"wide"`
	U      []float64 `json:"u"`
	V      []float64 `json:"v"`
	Events []int     `json:"events"`
	N      []int     `json:"n"`
	Score  []float64 `json:"score"`
	Sets   [][]int   `json:"sets"` // exposed cases, controls, exposed controls; one case each
}

func randomContingency(r *rand.Rand) contingencyCase {
	size := []int{3, 8, 30, 120}[r.IntN(4)]
	c := contingencyCase{Level: []float64{0.8, 0.9, 0.95, 0.99}[r.IntN(4)]}
	for c.Four == nil || c.Four[0]+c.Four[1] == 0 || c.Four[2]+c.Four[3] == 0 {
		c.Four = []int{r.IntN(size), r.IntN(size), r.IntN(size), r.IntN(size)}
	}
	for range 1 + r.IntN(6) {
		c.Strata = append(c.Strata, []int{r.IntN(size), r.IntN(size), r.IntN(size), r.IntN(size)})
	}
	i, j := 2+r.IntN(3), 3+r.IntN(2)
	for range 2 + r.IntN(3) {
		c.Cubes = append(c.Cubes, randomTable(r, i, j, size+2))
	}
	for c.Pairs == nil || c.Pairs[0]+c.Pairs[1]+c.Pairs[2]+c.Pairs[3] == 0 {
		c.Pairs = []int{r.IntN(size), r.IntN(size), r.IntN(size), r.IntN(size)}
	}
	c.Wide = randomTable(r, 3, 3+r.IntN(2), 2+r.IntN(5))
	for range c.Wide {
		c.U = append(c.U, float64(r.IntN(20))+float64(len(c.U))/8)
	}
	for range c.Wide[0] {
		c.V = append(c.V, float64(r.IntN(20))+float64(len(c.V))/8)
	}
	k := 0
	for k == 0 {
		c.Events, c.N, c.Score = nil, nil, nil
		k = 0
		for g := range 3 + r.IntN(2) {
			n := 1 + r.IntN(8)
			c.N = append(c.N, n)
			c.Events = append(c.Events, r.IntN(n+1))
			c.Score = append(c.Score, float64(r.IntN(9))/2+float64(g))
			k += c.Events[g]
		}
		total := 0
		for _, n := range c.N {
			total += n
		}
		if k == total || c.Score[0] == c.Score[1] && c.Score[1] == c.Score[2] {
			k = 0
		}
	}
	for range 5 + r.IntN(30) {
		m := 1 + r.IntN(4)
		c.Sets = append(c.Sets, []int{r.IntN(2), m, r.IntN(m + 1)})
	}
	return c
}

func (c contingencyCase) sets() []MatchedSet {
	var out []MatchedSet
	for _, s := range c.Sets {
		out = append(out, MatchedSet{1, s[0], s[1], s[2]})
	}
	return out
}

func (c contingencyCase) strata() []TableStratum {
	var out []TableStratum
	for _, s := range c.Strata {
		out = append(out, TableStratum{s[0], s[1], s[2], s[3]})
	}
	return out
}

func (c contingencyCase) pairs() PairTable {
	return PairTable{c.Pairs[0], c.Pairs[1], c.Pairs[2], c.Pairs[3]}
}

func randomContingencies(n int) []contingencyCase {
	r := rand.New(rand.NewPCG(22, 1959))
	var cases []contingencyCase
	for range n {
		cases = append(cases, randomContingency(r))
	}
	return cases
}

type contingencyR struct {
	Version []string
	Cases   []struct {
		Strata struct {
			CMH, Corrected, Pooled, Exact []number
			ExactP                        []number `json:"exact_p"`
		}
		General, Trend []number
		Pairs          struct{ Plain, Corrected, Exact, MidP, Odds []number }
		Fisher, G      []number
		Residuals      []number
		Linear         []number
		Matched        []number
	}
}

func TestContingencyAgainstStoredR(t *testing.T) {
	var cases []contingencyCase
	var out contingencyR
	storedCrosscheck(t, "contingency", &cases, &out)
	compareContingencyR(t, cases, out)
}

func TestContingencyAgainstR(t *testing.T) {
	cases := randomContingencies(500)
	var out contingencyR
	crosscheck(t, "contingency.R", cases, &out)
	compareContingencyR(t, cases, out)
}

// A checker reports numbers of a case that differ.
type checker func(what string, got float64, want number, tolerance float64)

func checkerOf(t *testing.T, i int, c any) checker {
	return func(what string, got float64, want number, tolerance float64) {
		t.Helper()
		if !near(got, float64(want), 1e-14) && !nearRelative(got, float64(want), tolerance) {
			t.Errorf("case %d: %s: got %.15g, want %.15g (%+v)", i+1, what, got, float64(want), c)
		}
	}
}

// Closed forms agree to 1e-8, relatively. R's common exact odds ratio and its
// limits end within 1.2e-4 on their scale or, above 1, that of their inverse.
func compareContingencyR(t *testing.T, cases []contingencyCase, out contingencyR) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		want, check := out.Cases[i], checkerOf(t, i, c)
		strata := c.strata()
		cmh, err := CochranMantelHaenszel(strata, CMHOptions{})
		if (err != nil) != (len(want.Strata.CMH) == 0) {
			t.Errorf("case %d: %v, but R says %v", i+1, err, want.Strata.CMH)
		}
		if err == nil {
			check("CMH", cmh.Statistic, want.Strata.CMH[0], 1e-8)
			check("p of CMH", cmh.P, want.Strata.CMH[1], 1e-8)
			corrected, err := CochranMantelHaenszel(strata, CMHOptions{Corrected: true})
			must(t, err)
			if corrected.Statistic > 0 { // R makes no correction beyond the distance
				check("corrected CMH", corrected.Statistic, want.Strata.Corrected[0], 1e-8)
				check("p of corrected CMH", corrected.P, want.Strata.Corrected[1], 1e-8)
			}
			pooled, err := MantelHaenszelOddsRatio(strata, LimitOptions{c.Level})
			if err == nil {
				check("pooled odds ratio", pooled.Value, want.Strata.Pooled[0], 1e-8)
				check("pooled lower", pooled.Lower, want.Strata.Pooled[1], 1e-8)
				check("pooled upper", pooled.Upper, want.Strata.Pooled[2], 1e-8)
			} else if x := float64(want.Strata.Pooled[0]); !errors.Is(err, ErrZeroCell) || x > 0 && !math.IsInf(x, 1) {
				t.Errorf("case %d: %v, but R says %v", i+1, err, want.Strata.Pooled)
			}
			independent, err := ConditionalIndependenceExact(strata)
			must(t, err)
			check("exact test", independent.P, want.Strata.ExactP[0], 1e-8)
			exact, err := CommonOddsRatioExact(strata, ExactOptions{Level: c.Level})
			must(t, err)
			for k, x := range []float64{exact.Value, exact.Lower, exact.Upper} {
				if y := float64(want.Strata.Exact[k]); x != y && !(math.Abs(math.Min(x, 1/x)-math.Min(y, 1/y)) < 2.5e-4) {
					t.Errorf("case %d: exact number %d: got %v, want %v", i+1, k, x, y)
				}
			}
		}
		general, err := GeneralCochranMantelHaenszel(c.Cubes)
		must(t, err)
		check("general CMH", general.Statistic, want.General[0], 1e-8)
		check("df of general CMH", general.DF, want.General[1], 0)
		check("p of general CMH", general.P, want.General[2], 1e-8)

		pairs := c.pairs()
		if len(want.Pairs.Plain) > 0 {
			for _, m := range []struct {
				method McNemarMethod
				want   []number
			}{{McNemarExact, want.Pairs.Exact}, {McNemarMidP, want.Pairs.MidP}, {McNemarChiSquare, want.Pairs.Plain[1:]}, {McNemarCorrected, want.Pairs.Corrected[1:]}} {
				test, err := McNemar(pairs, McNemarOptions{m.method})
				must(t, err)
				if m.method == McNemarCorrected && pairs.First == pairs.Second {
					continue // R takes 1 off a distance of 0
				}
				check(test.Method, test.P, m.want[0], 1e-8)
			}
			odds, err := PairedOddsRatio(pairs, ExactOptions{Level: c.Level})
			must(t, err)
			check("paired odds lower", odds.Lower, want.Pairs.Odds[0], 1e-8)
			check("paired odds upper", odds.Upper, want.Pairs.Odds[1], 1e-8)
		}
		fisher, err := Fisher(c.Wide)
		must(t, err)
		check("Fisher", fisher.P, want.Fisher[0], 1e-8)
		g, err := LikelihoodRatio(c.Wide)
		must(t, err)
		check("G²", g.Statistic, want.G[0], 1e-8)
		check("p of G²", g.P, want.G[1], 1e-8)
		residuals, err := StandardisedResiduals(c.Wide)
		must(t, err)
		for k, x := range residuals {
			for l, y := range x {
				if !near(y, float64(want.Residuals[k*len(x)+l]), 1e-10) {
					t.Errorf("case %d: residual %d, %d: got %v, want %v", i+1, k, l, y, want.Residuals[k*len(x)+l])
				}
			}
		}
		linear, err := LinearByLinear(c.Wide, c.U, c.V)
		must(t, err)
		if !near(linear.Statistic, float64(want.Linear[0]), 1e-10) {
			t.Errorf("case %d: linear by linear: got %v, want %v", i+1, linear.Statistic, want.Linear[0])
		}

		matched, err := MatchedOddsRatioExact(c.sets(), ExactOptions{})
		must(t, err)
		if matched.Value > 0 && !math.IsInf(matched.Value, 1) {
			check("conditional odds ratio", matched.Value, want.Matched[0], 1e-6)
		}

		trend, err := ProportionTrend(c.Events, c.N, c.Score, TrendOptions{})
		must(t, err)
		small, err := ProportionTrend(c.Events, c.N, c.Score, TrendOptions{SmallSample: true})
		must(t, err)
		exact, err := ProportionTrendExact(c.Events, c.N, c.Score)
		must(t, err)
		departure, err := TrendDeparture(c.Events, c.N, c.Score)
		must(t, err)
		// R's regression leaves rounding where the trend is 0.
		for k, x := range []float64{trend.Statistic, trend.P, small.Statistic, exact.P, departure.Statistic} {
			if k == 1 && float64(want.Trend[0]) < 1e-12 {
				continue
			}
			if !near(x, float64(want.Trend[k]), 1e-10) {
				t.Errorf("case %d: number %d of the trend: got %v, want %v (%+v)", i+1, k, x, want.Trend[k], c)
			}
		}
	}
	t.Logf("%s: %d cases", out.Version, len(cases))
}

type contingencyPython struct {
	Version string
	Cases   []struct {
		Strata struct {
			Difference, Exact, MidP, Pooled, Null, Homogeneity []number
			RiskSE                                             *number `json:"risk_se"`
			RatioQ                                             *number `json:"ratio_q"`
			DifferenceQ                                        *number `json:"difference_q"`
		}
		Pairs       struct{ Tango, Newcombe, Ratio, McNemar []number }
		Score, Odds []number
		MidP        []number
	}
}

func TestContingencyAgainstStoredStatsmodels(t *testing.T) {
	var cases []contingencyCase
	var out contingencyPython
	storedCrosscheck(t, "contingency", &cases, new(contingencyR))
	b, err := os.ReadFile(filepath.Join("testdata", "crosscheck", "contingency_py_output.json"))
	must(t, err)
	must(t, json.Unmarshal(b, &out))
	compareContingencyPython(t, cases, out)
}

func TestContingencyAgainstStatsmodels(t *testing.T) {
	cases := randomContingencies(500)
	var out contingencyPython
	crosscheck(t, "contingency.py", cases, &out)
	compareContingencyPython(t, cases, out)
}

// Closed forms agree to 1e-8, relatively, roots to 1e-6; statsmodels stops its
// search for score limits at about 1e-6 of its own.
func compareContingencyPython(t *testing.T, cases []contingencyCase, out contingencyPython) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := map[string]int{}
	for i, c := range cases {
		want, check := out.Cases[i], checkerOf(t, i, c)
		strata := c.strata()
		for k, variance := range []RiskDifferenceVariance{SatoVariance, GreenlandRobinsVariance} {
			e, err := MantelHaenszelRiskDifference(strata, PooledDifferenceOptions{c.Level, variance})
			if err != nil {
				if len(want.Strata.Difference) > 0 && float64(want.Strata.Difference[1+k]) > 1e-9 {
					t.Errorf("case %d: %v, want %v (%+v)", i+1, err, want.Strata.Difference, c)
				}
				continue
			}
			compared["difference"]++
			check("pooled difference", e.Value, want.Strata.Difference[0], 1e-8)
			check(e.Method, e.SE, want.Strata.Difference[1+k], 1e-8)
		}
		if len(want.Strata.Exact) > 0 {
			for _, m := range []struct {
				midP bool
				want []number
			}{{false, want.Strata.Exact}, {true, want.Strata.MidP}} {
				e, err := CommonOddsRatioExact(strata, ExactOptions{c.Level, m.midP})
				must(t, err)
				compared["exact"]++
				for k, x := range []float64{e.Value, e.Lower, e.Upper, e.P} {
					check(e.Method, x, m.want[k], 1e-8)
				}
			}
			if e, err := MantelHaenszelOddsRatio(strata, LimitOptions{c.Level}); err == nil {
				check("pooled odds ratio", e.Value, want.Strata.Pooled[0], 1e-8)
				check("its error", e.SE, want.Strata.Pooled[1], 1e-8)
			}
			test, err := CochranMantelHaenszel(strata, CMHOptions{})
			must(t, err)
			check("CMH", test.Statistic, want.Strata.Null[0], 1e-8)
		}
		// statsmodels divides 0 by 0 at a pooled ratio of 1.
		if len(want.Strata.Homogeneity) > 0 && !math.IsNaN(float64(want.Strata.Homogeneity[0])) {
			compared["homogeneity"]++
			tarone, err := OddsRatioHomogeneity(strata, HomogeneityOptions{})
			must(t, err)
			plain, err := OddsRatioHomogeneity(strata, HomogeneityOptions{Uncorrected: true})
			must(t, err)
			for k, x := range []float64{tarone.Statistic, tarone.P, plain.Statistic, plain.P} {
				if !near(x, float64(want.Strata.Homogeneity[k]), 1e-8) {
					t.Errorf("case %d: homogeneity %d: got %v, want %v", i+1, k, x, want.Strata.Homogeneity[k])
				}
			}
		}
		if want.Strata.RiskSE != nil {
			e, err := MantelHaenszelRiskRatio(onlyInformative(strata), LimitOptions{c.Level})
			must(t, err)
			compared["risk ratio"]++
			check("pooled risk ratio", e.Value, want.Strata.Pooled[2], 1e-8)
			check("its error", e.SE, *want.Strata.RiskSE, 1e-8)
		}
		for _, m := range []struct {
			test func([]TableStratum) (Test, error)
			want *number
		}{{RiskRatioHomogeneity, want.Strata.RatioQ}, {RiskDifferenceHomogeneity, want.Strata.DifferenceQ}} {
			test, err := m.test(onlyInformative(strata))
			if m.want == nil || err != nil && errors.Is(err, ErrNoVariance) {
				continue
			}
			must(t, err)
			compared[test.Name]++
			if !near(test.Statistic, float64(*m.want), 1e-10) {
				t.Errorf("case %d: %s: got %v, want %v", i+1, test.Name, test.Statistic, *m.want)
			}
		}
		pairs := c.pairs()
		tango, err := PairedDifference(pairs, PairedDifferenceOptions{Level: c.Level})
		must(t, err)
		check("Tango lower", tango.Lower, want.Pairs.Tango[0], 1e-6)
		check("Tango upper", tango.Upper, want.Pairs.Tango[1], 1e-6)
		newcombe, err := PairedDifference(pairs, PairedDifferenceOptions{Level: c.Level, Method: PairedNewcombe})
		must(t, err)
		for k, x := range []float64{newcombe.Lower, newcombe.Upper} {
			if !near(x, float64(want.Pairs.Newcombe[k]), 1e-12) { // absolutely: a limit may be 0
				t.Errorf("case %d: Newcombe limit %d: got %v, want %v", i+1, k, x, want.Pairs.Newcombe[k])
			}
		}
		if len(want.Pairs.Ratio) > 0 {
			ratio, err := PairedRatio(pairs, LimitOptions{c.Level})
			must(t, err)
			check("paired ratio lower", ratio.Lower, want.Pairs.Ratio[0], 1e-6)
			check("paired ratio upper", ratio.Upper, want.Pairs.Ratio[1], 1e-6)
		}
		if len(want.Pairs.McNemar) > 0 {
			for k, method := range []McNemarMethod{McNemarExact, McNemarChiSquare, McNemarCorrected} {
				test, err := McNemar(pairs, McNemarOptions{method})
				must(t, err)
				got := test.Statistic
				if method == McNemarExact {
					got = test.P
				}
				if method == McNemarCorrected && pairs.First == pairs.Second {
					continue // there 1 is taken off a distance of 0
				}
				check(test.Method, got, want.Pairs.McNemar[k], 1e-8)
			}
		}
		four := c.Four
		if len(want.Score) > 0 {
			compared["score"]++
			nurminen, err := OddsRatioScore(four[0], four[1], four[2], four[3], LimitOptions{c.Level})
			must(t, err)
			cornfield, err := OddsRatioCornfield(four[0], four[1], four[2], four[3], CornfieldOptions{Level: c.Level})
			must(t, err)
			for k, x := range []float64{nurminen.Lower, nurminen.Upper, cornfield.Lower, cornfield.Upper} {
				check("score odds ratio", x, want.Score[k], 1e-5)
			}
		}
		if len(want.Odds) > 0 {
			for k, measure := range []TwoByTwoMeasure{OddsRatioScore, cornfield(false), cornfield(true)} {
				e, err := measure(four[0], four[1], four[2], four[3], LimitOptions{c.Level})
				must(t, err)
				check(e.Method, e.Lower, want.Odds[2*k], 1e-6)
				check(e.Method, e.Upper, want.Odds[2*k+1], 1e-6)
			}
		}
		if len(want.MidP) > 0 {
			e, err := OddsRatioMidP(four[0], four[1], four[2], four[3], LimitOptions{c.Level})
			must(t, err)
			for k, x := range []float64{e.Value, e.Lower, e.Upper, e.P} {
				check(e.Method, x, want.MidP[k], 1e-8)
			}
		}
	}
	t.Logf("%s: %d cases, %v", out.Version, len(cases), compared)
	for what, n := range compared {
		if n < len(cases)/6 {
			t.Errorf("%s: %d of %d cases compared", what, n, len(cases))
		}
	}
}

func onlyInformative(strata []TableStratum) []TableStratum {
	var out []TableStratum
	for _, s := range strata {
		if s.informative() {
			out = append(out, s)
		}
	}
	return out
}

// The stored input is the first of the random cases.
func TestContingencyStoredInput(t *testing.T) {
	want, err := json.Marshal(randomContingencies(12))
	must(t, err)
	file := filepath.Join("testdata", "crosscheck", "contingency_input.json")
	if *update {
		must(t, os.WriteFile(file, append(want, '\n'), 0o644))
	}
	got, err := os.ReadFile(file)
	must(t, err)
	if string(got) != string(want)+"\n" {
		t.Errorf("%s is not the first 12 random cases", file)
	}
}
