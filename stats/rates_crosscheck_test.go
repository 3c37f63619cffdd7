package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A ratesCase is what rates.R reads.
type ratesCase struct {
	Level     float64   `json:"level"`
	Events    int       `json:"events"`
	Events1   int       `json:"events1"`
	Events0   int       `json:"events0"`
	Time1     float64   `json:"time1"`
	Time0     float64   `json:"time0"`
	Observed  int       `json:"observed"`
	Reference []float64 `json:"reference"`
	Counts    []int     `json:"counts"`
	Times     []float64 `json:"times"`
	Weights   []float64 `json:"weights"`
	Scores    []float64 `json:"scores"`
	StrataA   []int     `json:"strata_a"`
	StrataS   []float64 `json:"strata_s"`
	StrataB   []int     `json:"strata_b"`
	StrataT   []float64 `json:"strata_t"`
	Hits      int       `json:"hits"`
	Trials    int       `json:"trials"`
}

type ratesOutput struct {
	Version []string
	Cases   []struct {
		MidP         []number
		Byar         []number
		RatioMidP    []number `json:"ratio_midp"`
		RatioScore   []number `json:"ratio_score"`
		Difference   []number
		Indirect     []number
		Direct       []number
		Modified     []number
		MH           []number
		MHDifference []number `json:"mh_difference"`
		Homogeneity  []number
		Logs         []bool
		Trend        []number
		Same         []number
		Proportion   []number `json:"proportion_midp"`
		Jeffreys     []number
		Agresti      []number
	}
}

func randomRates(r *rand.Rand) ratesCase {
	size := []int{3, 12, 60, 300}[r.IntN(4)]
	c := ratesCase{
		Level:   []float64{0.8, 0.9, 0.95, 0.99}[r.IntN(4)],
		Events:  r.IntN(size),
		Events1: r.IntN(size), Events0: r.IntN(size) + 1,
		Time1: 1 + 1000*r.Float64(), Time0: 10 + 100*r.Float64(),
		Observed: r.IntN(size), Trials: 1 + r.IntN(size),
	}
	if r.IntN(5) == 0 {
		c.Events1, c.Events0 = c.Events0, 0
	}
	c.Hits = r.IntN(c.Trials + 1)
	for i := range 2 + r.IntN(5) {
		c.Counts = append(c.Counts, r.IntN(size))
		c.Times = append(c.Times, 5+500*r.Float64())
		c.Weights = append(c.Weights, 1+100*r.Float64())
		c.Reference = append(c.Reference, 0.001+0.1*r.Float64())
		c.Scores = append(c.Scores, float64(i)+r.Float64())
		c.StrataA = append(c.StrataA, r.IntN(size))
		c.StrataB = append(c.StrataB, r.IntN(size))
		c.StrataS = append(c.StrataS, 5+500*r.Float64())
		c.StrataT = append(c.StrataT, 5+500*r.Float64())
	}
	c.Counts[0]++
	c.StrataA[0]++
	c.StrataB[0]++
	c.StrataA[1]++
	return c
}

func TestRatesAgainstStoredR(t *testing.T) {
	var cases []ratesCase
	var out ratesOutput
	storedCrosscheck(t, "rates", &cases, &out)
	compareRates(t, cases, out)
}

func TestRatesAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 4))
	var cases []ratesCase
	for range 500 {
		cases = append(cases, randomRates(r))
	}
	var out ratesOutput
	crosscheck(t, "rates.R", cases, &out)
	compareRates(t, cases, out)
}

// Closed forms agree to 1e-8, relatively. What both sides solve for by
// iteration (mid-P and score limits) agrees to 1e-6, and a difference, which
// may be near 0, to 1e-6 of the larger rate.
func compareRates(t *testing.T, cases []ratesCase, out ratesOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		want := out.Cases[i]
		check := func(what string, tolerance float64, want []number, got ...float64) {
			t.Helper()
			if len(want) != len(got) {
				t.Fatalf("case %d: %s: %d numbers for %d", i+1, what, len(want), len(got))
			}
			for j, x := range got {
				if math.Max(x, float64(want[j])) < 1e-300 {
					continue // R's tail is 0 before ours
				}
				if !nearRelative(x, float64(want[j]), tolerance) {
					t.Errorf("case %d: %s, number %d: got %.15g, want %.15g (%+v)", i+1, what, j+1, x, float64(want[j]), c)
				}
			}
		}
		limits := func(what string, tolerance float64, method RateMethod, want []number) {
			t.Helper()
			e, err := Rate(c.Events, 1, RateOptions{Level: c.Level, Method: method})
			must(t, err)
			check(what, tolerance, want, e.Lower, e.Upper)
		}
		limits("mid-P", 1e-6, PoissonMidP, want.MidP)
		limits("Byar", 1e-8, Byar, want.Byar)
		for method, answer := range map[RateRatioMethod][]number{RatioMidP: want.RatioMidP, RatioScore: want.RatioScore} {
			e, err := RateRatio(c.Events1, c.Time1, c.Events0, c.Time0, RateRatioOptions{c.Level, method})
			must(t, err)
			check(e.Method, 1e-6, answer, e.Lower, e.Upper, e.P)
		}
		d, err := RateDifference(c.Events1, c.Time1, c.Events0, c.Time0, RateDifferenceOptions{Level: c.Level, Method: DifferenceScore})
		must(t, err)
		larger := math.Max(float64(c.Events1)/c.Time1, float64(c.Events0)/c.Time0)
		for j, x := range []float64{d.Lower, d.Upper} {
			if math.Abs(x-float64(want.Difference[j])) > 1e-6*larger {
				t.Errorf("case %d: score limit %d of the difference: got %.15g, want %.15g (%+v)", i+1, j+1, x, float64(want.Difference[j]), c)
			}
		}
		check("p of the difference", 1e-6, want.Difference[2:], d.P)

		indirect, err := IndirectStandardisation(c.Observed, c.Times, c.Reference, RateOptions{Level: c.Level})
		must(t, err)
		check("indirect", 1e-8, want.Indirect, indirect.Value, indirect.P)
		for method, answer := range map[StandardMethod][]number{FayFeuer: want.Direct, ModifiedGamma: want.Modified} {
			e, err := DirectStandardisation(c.Counts, c.Times, c.Weights, StandardOptions{Level: c.Level, Method: method})
			must(t, err)
			check(e.Method, 1e-8, answer, e.Value, e.SE, e.Lower, e.Upper)
		}

		var strata []RateStratum
		for j := range c.StrataA {
			strata = append(strata, RateStratum{c.StrataA[j], c.StrataS[j], c.StrataB[j], c.StrataT[j]})
		}
		mh, err := MantelHaenszelRateRatio(strata, LimitOptions{c.Level})
		must(t, err)
		check("Mantel-Haenszel ratio", 1e-8, want.MH, mh.Value, mh.SE, mh.P)
		difference, err := MantelHaenszelRateDifference(strata, RateOptions{Level: c.Level})
		must(t, err)
		if !nearRelative(difference.SE, float64(want.MHDifference[1]), 1e-8) || math.Abs(difference.Value-float64(want.MHDifference[0])) > 1e-8*difference.SE {
			t.Errorf("case %d: Mantel-Haenszel difference: got %v and %v, want %v", i+1, difference.Value, difference.SE, want.MHDifference)
		}
		same, err := RateRatioHomogeneity(strata)
		must(t, err)
		check("homogeneity of ratios: "+same.Method, 1e-7, want.Homogeneity, same.Statistic)

		trend, err := RateTrend(c.Counts, c.Times, c.Scores)
		must(t, err)
		if float64(want.Trend[0]) > 1e-6 { // R fits the model by iteration
			check("trend", 1e-6, want.Trend[:1], trend.Statistic)
			check("p of the trend", 1e-6*(1+trend.Statistic), want.Trend[1:], trend.P)
		}
		rates, err := RateHomogeneity(c.Counts, c.Times)
		must(t, err)
		check("homogeneity of rates", 1e-8, want.Same, rates.Statistic, rates.P)

		for method, answer := range map[ProportionMethod][]number{ProportionMidP: want.Proportion, Jeffreys: want.Jeffreys, AgrestiCoull: want.Agresti} {
			e, err := Proportion(c.Hits, c.Trials, ProportionOptions{c.Level, method})
			must(t, err)
			check(e.Method, 1e-6, answer, e.Lower, e.Upper)
		}
	}
}
