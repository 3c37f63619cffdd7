package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

type logRankFamilyOutput struct {
	Version []string
	Cases   []struct {
		Trend, Discrete, Survdiff, Cluster, ClusterTrend []number
		Pairs, Holm, BH, Z, Two, Three                   []number
		Correlation                                      [][]number
	}
}

// A logRankFamilyCase is what logrankfamily.R reads.
type logRankFamilyCase struct {
	weightedCase
	Cluster []int `json:"cluster"`
}

func logRankFamilyCases(seed uint64, n int) []logRankFamilyCase {
	r := rand.New(rand.NewPCG(seed, 75))
	var cases []logRankFamilyCase
	for i := range n {
		c := logRankFamilyCase{weightedCase: randomWeighted(r, i%2 == 1)}
		for range c.Exit {
			c.Cluster = append(c.Cluster, r.IntN(12+len(c.Exit)/3))
		}
		cases = append(cases, c)
	}
	return cases
}

func TestLogRankFamilyAgainstStoredR(t *testing.T) {
	var cases []logRankFamilyCase
	var out logRankFamilyOutput
	storedCrosscheck(t, "logrankfamily", &cases, &out)
	compareLogRankFamily(t, cases, out)
}

// TestLogRankFamilyAgainstR compares with R on 600 random data sets of heavy ties
// in two strata, half of them with late entry.
func TestLogRankFamilyAgainstR(t *testing.T) {
	t.Parallel()
	cases := logRankFamilyCases(1, 600)
	var out logRankFamilyOutput
	crosscheck(t, "logrankfamily.R", cases, &out)
	compareLogRankFamily(t, cases, out)
}

// Both sides add the same fractions: 1e-8. R's integrals are good to 1e-6.
func compareLogRankFamily(t *testing.T, cases []logRankFamilyCase, out logRankFamilyOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	fh := func(rho, gamma float64) LogRankWeight {
		return LogRankWeight{Kind: FlemingHarrington, Rho: rho, Gamma: gamma}
	}
	compared := map[string]int{}
	for i, c := range cases {
		want := out.Cases[i]
		same := func(what string, got float64, w number, tolerance float64) {
			t.Helper()
			compared[what]++
			if !near(got, float64(w), tolerance) {
				t.Errorf("case %d, %s: %v, want %v", i+1, what, got, w)
			}
		}
		times := Times{c.Entry, c.Exit, c.Status}
		scores := []float64{0, 1, math.Pow(2, 1.5)}
		for a, w := range []LogRankWeight{fh(0, 0), fh(1, 1)} {
			r, err := LogRankTrend(times, c.Group, 3, scores, LogRankOptions{Strata: c.Stratum, Weight: w})
			if err != nil {
				continue
			}
			// R's group of a larger score has more events: the same sign.
			same("trend", r.Z, want.Trend[a], 1e-8)
			if a == 0 && want.Discrete != nil {
				same("trend of the discrete model", r.Test.Statistic, want.Discrete[0], 1e-8)
				same("trend of survdiff", r.Test.Statistic, want.Survdiff[0], 1e-8)
			}
		}
		cluster := LogRankOptions{Strata: c.Stratum, Cluster: c.Cluster}
		if r, err := LogRank(times, c.Group, 3, cluster); err == nil && r.Test.DF == 2 {
			same("clusters", r.Test.Statistic, want.Cluster[0], 1e-7)
		}
		if r, err := LogRankTrend(times, c.Group, 3, scores, cluster); err == nil {
			same("trend with clusters", r.Test.Statistic, want.ClusterTrend[0], 1e-7)
		}
		for _, adjust := range []Multiplicity{Holm, BenjaminiHochberg} {
			pairs, family, err := LogRankPairs(times, c.Group, 3, LogRankPairsOptions{LogRankOptions{Strata: c.Stratum}, adjust})
			if err != nil || family != 3 {
				continue
			}
			for k, pair := range pairs {
				same("P of a pair", pair.Result.Test.P, want.Pairs[k], 1e-8)
				w := want.Holm
				if adjust != Holm {
					w = want.BH
				}
				same("adjusted P of a pair", pair.P, w[k], 1e-8)
			}
		}
		two := make([]int, len(c.Group))
		for k, g := range c.Group {
			two[k] = min(g, 1)
		}
		r, err := MaxCombo(times, two, MaxComboOptions{Strata: c.Stratum})
		if err != nil {
			continue
		}
		for a := range r.Z {
			same("Z", r.Z[a], want.Z[a], 1e-8)
			for b := range r.Z {
				same("correlation", r.Correlation[a][b], want.Correlation[a][b], 1e-8)
			}
		}
		r, err = MaxCombo(times, two, MaxComboOptions{Strata: c.Stratum, Weights: []LogRankWeight{fh(1, 0), fh(0, 1)}})
		must(t, err)
		same("P of the larger of two", r.Test.P, want.Two[0], 1e-6)
		r, err = MaxCombo(times, two, MaxComboOptions{Strata: c.Stratum, Weights: []LogRankWeight{fh(0, 0), fh(1, 0), fh(0, 1)}})
		must(t, err)
		if !math.IsNaN(float64(want.Three[0])) {
			same("P of the largest of three", r.Test.P, want.Three[0], 1e-6+2*r.Within)
		}
	}
	t.Log(out.Version, compared)
	for _, what := range []string{
		"trend", "trend of the discrete model", "trend of survdiff", "clusters", "trend with clusters", "P of a pair",
		"adjusted P of a pair", "Z", "P of the larger of two", "P of the largest of three",
	} {
		least := len(cases) * 4 / 5
		switch what {
		case "trend of the discrete model", "trend of survdiff":
			least /= 2
		case "P of the largest of three":
			least /= 12
		}
		if compared[what] < least {
			t.Errorf("%s: %d compared", what, compared[what])
		}
	}
}
