package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// A countsCase is what counts.R reads.
type countsCase struct {
	Level   float64   `json:"level"`
	Events  int       `json:"events"`
	Events1 int       `json:"events1"`
	Events0 int       `json:"events0"`
	Time1   float64   `json:"time1"`
	Time0   float64   `json:"time0"`
	Hits    int       `json:"hits"`
	Trials  int       `json:"trials"`
	Four    []int     `json:"four"`
	Wide    [][]int   `json:"wide"`
	Values  []float64 `json:"values"`
}

type countsOutput struct {
	Version []string
	Cases   []struct {
		Poisson, Ratio, Exact, Wilson []number
		RatioP                        []number `json:"ratio_p"`
		FisherFour                    []number `json:"fisher_four"`
		Hyper                         []number
		FisherWide                    []number `json:"fisher_wide"`
		Chisq                         []number
		ChisqP                        []number `json:"chisq_p"`
		Small                         []int
		Quantiles, Mean, SD           []number
	}
}

func randomCounts(r *rand.Rand) countsCase {
	size := []int{3, 12, 60, 400}[r.IntN(4)]
	c := countsCase{
		Level:   []float64{0.8, 0.9, 0.95, 0.99, 0.999}[r.IntN(5)],
		Events:  r.IntN(size),
		Events1: r.IntN(size), Events0: r.IntN(size) + 1,
		Time1: 1000 * r.Float64(), Time0: 10 + 100*r.Float64(),
		Trials: 1 + r.IntN(size),
	}
	if r.IntN(5) == 0 {
		c.Events1, c.Events0 = c.Events0, 0
	}
	c.Hits = r.IntN(c.Trials + 1)
	for _, row := range randomTable(r, 2, 2, size) {
		c.Four = append(c.Four, row...)
	}
	c.Wide = randomTable(r, 2, 3+r.IntN(3), 25)
	if r.IntN(2) == 0 {
		c.Wide = transpose(c.Wide)
	}
	for range 2 + r.IntN(40) {
		c.Values = append(c.Values, math.Round(1000*r.NormFloat64())/10+50)
	}
	return c
}

// randomTable has counts below size and no empty row or column.
func randomTable(r *rand.Rand, rows, columns, size int) [][]int {
	for {
		table := make([][]int, rows)
		for i := range table {
			for range columns {
				table[i] = append(table[i], r.IntN(size))
			}
		}
		a, b, _ := margins(table)
		if checkMargins("", a, b) == nil {
			return table
		}
	}
}

func TestCountsAgainstStoredR(t *testing.T) {
	var cases []countsCase
	var out countsOutput
	storedCrosscheck(t, "counts", &cases, &out)
	compareCounts(t, cases, out)
}

func TestCountsAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 15))
	var cases []countsCase
	for range 500 {
		cases = append(cases, randomCounts(r))
	}
	var out countsOutput
	crosscheck(t, "counts.R", cases, &out)
	compareCounts(t, cases, out)
}

// Closed forms and quantiles agree to 1e-8, relatively, so that small
// probabilities count too.
func compareCounts(t *testing.T, cases []countsCase, out countsOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		want := out.Cases[i]
		check := func(what string, got float64, want number) {
			t.Helper()
			if !nearRelative(got, float64(want), 1e-8) {
				t.Errorf("case %d: %s: got %.15g, want %.15g (%+v)", i+1, what, got, float64(want), c)
			}
		}
		rate, err := Rate(c.Events, 1, RateOptions{Level: c.Level})
		must(t, err)
		check("rate lower", rate.Lower, want.Poisson[0])
		check("rate upper", rate.Upper, want.Poisson[1])

		ratio, err := RateRatio(c.Events1, c.Time1, c.Events0, c.Time0, RateRatioOptions{Level: c.Level})
		must(t, err)
		check("rate ratio lower", ratio.Lower, want.Ratio[0])
		check("rate ratio upper", ratio.Upper, want.Ratio[1])
		check("rate ratio p", ratio.P, want.RatioP[0])

		exact, err := Proportion(c.Hits, c.Trials, ProportionOptions{c.Level, ClopperPearson})
		must(t, err)
		check("exact lower", exact.Lower, want.Exact[0])
		check("exact upper", exact.Upper, want.Exact[1])
		wilson, err := Proportion(c.Hits, c.Trials, ProportionOptions{Level: c.Level})
		must(t, err)
		if !near(wilson.Lower, float64(want.Wilson[0]), 1e-12) { // there by cancellation, 1e-17 for 0
			t.Errorf("case %d: Wilson lower: got %v, want %v", i+1, wilson.Lower, want.Wilson[0])
		}
		check("Wilson upper", wilson.Upper, want.Wilson[1])

		four, err := Fisher([][]int{c.Four[:2], c.Four[2:]})
		must(t, err)
		check("Fisher 2 by 2", four.P, want.FisherFour[0])
		odds, err := OddsRatioExact(c.Four[0], c.Four[1], c.Four[2], c.Four[3], LimitOptions{})
		must(t, err)
		check("doubled hypergeometric tail", odds.P, want.Hyper[0])
		wide, err := Fisher(c.Wide)
		must(t, err)
		check(fmt.Sprintf("Fisher %d by %d", len(c.Wide), len(c.Wide[0])), wide.P, want.FisherWide[0])
		square, err := ChiSquare(c.Wide)
		must(t, err)
		check("chi-square", square.Statistic, want.Chisq[0])
		check("chi-square p", square.P, want.ChisqP[0])
		if (want.Small[0] > 0) != (len(square.Warnings) > 0) {
			t.Errorf("case %d: %d small expected counts, warnings %v", i+1, want.Small[0], square.Warnings)
		}
		for j, p := range []float64{0, 0.1, 0.25, 0.5, 0.75, 0.9, 1} {
			check(fmt.Sprintf("quantile %v", p), Quantile(c.Values, p), want.Quantiles[j])
		}
		s := Describe(c.Values)
		check("mean", s.Mean, want.Mean[0])
		check("sd", s.SD, want.SD[0])
	}
	t.Logf("%s: %d cases", out.Version, len(cases))
}
