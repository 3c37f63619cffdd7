package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

type weightedOutput struct {
	Version []string
	Cases   []struct {
		FH                        []number
		Gehan, Tarone, Peto, Late []number
	}
}

// A weightedCase is what weightedlogrank.R reads.
type weightedCase struct {
	Entry   []float64 `json:"entry"`
	Exit    []float64 `json:"exit"`
	Status  []bool    `json:"status"`
	Group   []int     `json:"group"`
	Stratum []int     `json:"stratum"`
}

func randomWeighted(r *rand.Rand, late bool) weightedCase {
	var c weightedCase
	days := 4 + r.IntN(30)
	for i := range 15 + r.IntN(60) {
		entry, exit := 0, 1+r.IntN(days)
		if late && i%3 == 2 {
			entry = r.IntN(exit)
		}
		c.Entry, c.Exit = append(c.Entry, float64(entry)), append(c.Exit, float64(exit))
		c.Status, c.Group, c.Stratum = append(c.Status, r.IntN(3) > 0), append(c.Group, i%3), append(c.Stratum, r.IntN(2))
	}
	return c
}

func TestWeightedLogRankAgainstStoredR(t *testing.T) {
	var cases []weightedCase
	var out weightedOutput
	storedCrosscheck(t, "weightedlogrank", &cases, &out)
	compareWeighted(t, cases, out)
}

// TestWeightedLogRankAgainstR compares with R on 1,000 random data sets of heavy
// ties in two strata, half of them with late entry.
func TestWeightedLogRankAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 65))
	var cases []weightedCase
	for i := range 1000 {
		cases = append(cases, randomWeighted(r, i%2 == 1))
	}
	var out weightedOutput
	crosscheck(t, "weightedlogrank.R", cases, &out)
	compareWeighted(t, cases, out)
}

// Both sides add the same fractions: 1e-8.
func compareWeighted(t *testing.T, cases []weightedCase, out weightedOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		want := out.Cases[i]
		for _, w := range []struct {
			weight LogRankWeight
			want   []number
		}{
			{LogRankWeight{Kind: FlemingHarrington, Rho: 0.5}, want.FH[:1]},
			{LogRankWeight{Kind: FlemingHarrington, Rho: 1}, want.FH[1:]},
			{LogRankWeight{Kind: GehanBreslow}, want.Gehan},
			{LogRankWeight{Kind: TaroneWare}, want.Tarone},
			{LogRankWeight{Kind: PetoPeto}, want.Peto},
			{LogRankWeight{Kind: FlemingHarrington, Rho: 0.5, Gamma: 1}, want.Late},
		} {
			if math.IsNaN(float64(w.want[0])) {
				continue
			}
			got, err := LogRank(Times{c.Entry, c.Exit, c.Status}, c.Group, 3, LogRankOptions{Strata: c.Stratum, Weight: w.weight})
			if err != nil {
				continue
			}
			compared++
			if !near(got.Test.Statistic, float64(w.want[0]), 1e-8) {
				t.Errorf("case %d, %s: %v, want %v", i+1, got.Test.Name, got.Test.Statistic, w.want[0])
			}
		}
	}
	t.Logf("%s: %d tests compared", out.Version, compared)
	if compared < 4*len(cases) {
		t.Errorf("%d tests compared", compared)
	}
}

// Weights of 1 are the log-rank test, and powers of 0 too; one weight for all
// times changes nothing.
func TestWeightedLogRankOfEqualWeights(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 66))
	for range 50 {
		c := randomWeighted(r, true)
		times := Times{c.Entry, c.Exit, c.Status}
		plain, err := LogRank(times, c.Group, 3, LogRankOptions{})
		if err != nil {
			continue
		}
		none, err := LogRank(times, c.Group, 3, LogRankOptions{Weight: LogRankWeight{Kind: FlemingHarrington}})
		must(t, err)
		if plain.Test.Statistic != none.Test.Statistic {
			t.Fatalf("powers of 0: %v, want %v", none.Test.Statistic, plain.Test.Statistic)
		}
	}
}
