package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// An ordinalCase is what ordinal.py reads.
type ordinalCase struct {
	X       [][]float64 `json:"x"`
	Y       []int       `json:"y"`
	Levels  int         `json:"levels"`
	Cluster []int       `json:"cluster"`
}

func (c ordinalCase) terms() []string { return []string{"group", "z"} }

func (c ordinalCase) names() []string {
	var names []string
	for k := range c.Levels {
		names = append(names, fmt.Sprintf("grade %d", k))
	}
	return names
}

// randomOrdinal draws grades of pain, two rows a child.
func randomOrdinal(r *rand.Rand) ordinalCase {
	c := ordinalCase{Levels: 3 + r.IntN(3)}
	slope := r.NormFloat64()
	own := 0.0
	for i := range 60 + r.IntN(100) {
		if i%2 == 0 {
			own = r.NormFloat64()
		}
		row := []float64{float64(r.IntN(2)), math.Round(100*r.NormFloat64()) / 10}
		latent := 0.6*row[0] + 0.1*slope*row[1] + own + math.Log(1/r.Float64()-1)
		k := 0
		for k < c.Levels-1 && latent > -1.2+1.1*float64(k) {
			k++
		}
		c.X, c.Y, c.Cluster = append(c.X, row), append(c.Y, k), append(c.Cluster, i/2)
	}
	return c
}

type ordinalOutput struct {
	Version string
	Cases   []*struct {
		Coefficients       []number
		Covariance, Robust [][]number
		LogLik             number
		Score              number
	}
}

func TestProportionalOddsAgainstStoredStatsmodels(t *testing.T) {
	var cases []ordinalCase
	var out ordinalOutput
	storedCrosscheck(t, "ordinal", &cases, &out)
	compareOrdinal(t, cases, out)
}

// TestProportionalOddsAgainstStatsmodels compares with statsmodels' likelihood
// on 500 random data sets.
func TestProportionalOddsAgainstStatsmodels(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(22, 80))
	var cases []ordinalCase
	for range 500 {
		cases = append(cases, randomOrdinal(r))
	}
	var out ordinalOutput
	crosscheck(t, "ordinal.py", cases, &out)
	compareOrdinal(t, cases, out)
}

// Derivatives there are differences, good to some 1e-9.
func compareOrdinal(t *testing.T, cases []ordinalCase, out ordinalOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	refused := 0
	for i, c := range cases {
		want, what := out.Cases[i], fmt.Sprintf("case %d", i+1)
		f, err := FitProportionalOdds(c.X, c.terms(), c.Y, c.names(), OrdinalOptions{})
		if err != nil || want == nil {
			refused++
			t.Logf("%s: %v", what, err)
			continue
		}
		robust, err := FitProportionalOdds(c.X, c.terms(), c.Y, c.names(), OrdinalOptions{Cluster: c.Cluster, Uncorrected: true})
		must(t, err)
		for j, b := range want.Coefficients {
			if !near(f.Coefficients[j], float64(b), 1e-6) {
				t.Errorf("%s: coefficient of %s %v, want %v", what, f.Terms[j], f.Coefficients[j], b)
			}
		}
		compareMatrix(t, what, f.Covariance, want.Covariance)
		compareMatrix(t, what+", robust", robust.Covariance, want.Robust)
		if !near(f.LogLik, float64(want.LogLik), 1e-9) {
			t.Errorf("%s: log likelihood %v, want %v", what, f.LogLik, want.LogLik)
		}
		if !near(f.Tests[2].Statistic, float64(want.Score), 1e-6) {
			t.Errorf("%s: score test %v, want %v", what, f.Tests[2].Statistic, want.Score)
		}
	}
	t.Logf("%s: %d fits compared, %d refused", out.Version, len(cases)-refused, refused)
	if refused*20 > len(cases) {
		t.Errorf("%d of %d refused", refused, len(cases))
	}
}
