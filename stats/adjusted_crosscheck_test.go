package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// An adjustedCase is what adjusted.R reads; nil slices are not given. The first
// covariate is the group.
type adjustedCase struct {
	coxCase
	Mean    []float64 `json:"mean"`
	At      []float64 `json:"at"`
	Horizon float64   `json:"horizon"`
	Given   bool      `json:"given"`
}

type adjustedOutput struct {
	Version []string
	Cases   []struct {
		Failed           []bool
		Rowwise, Numbers []number
		Covariance       [][]number
	}
}

// randomAdjusted makes data with late entry, strata, weights, offsets, clusters
// and weights of the mean in about half each.
func randomAdjusted(r *rand.Rand, n int) adjustedCase {
	c := adjustedCase{coxCase: randomCoxCase(r, n, []string{TiesEfron, TiesBreslow}[r.IntN(2)]), Given: r.IntN(3) == 0}
	if r.IntN(2) == 0 {
		for range n {
			c.Mean = append(c.Mean, float64(r.IntN(3)))
		}
	}
	last := map[int]float64{}
	for i, exit := range c.Exit {
		h := 0
		if c.Stratum != nil {
			h = c.Stratum[i]
		}
		last[h] = math.Max(last[h], exit)
	}
	end := math.Inf(1)
	for _, t := range last {
		end = math.Min(end, t)
	}
	c.At = []float64{math.Floor(end / 3), end}
	c.Horizon = 0.8 * end
	return c
}

// atLevel are rows with the first covariate set.
func atLevel(x [][]float64, level float64) [][]float64 {
	out := make([][]float64, len(x))
	for i, row := range x {
		out[i] = slices.Clone(row)
		out[i][0] = level
	}
	return out
}

func TestAdjustedSurvivalAgainstStoredR(t *testing.T) {
	var cases []adjustedCase
	var out adjustedOutput
	storedCrosscheck(t, "adjusted", &cases, &out)
	compareAdjusted(t, cases, out, len(cases)-1)
}

// TestAdjustedSurvivalAgainstR compares with R on 40 random data sets.
func TestAdjustedSurvivalAgainstR(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(17, 31))
	var cases []adjustedCase
	for range 40 {
		cases = append(cases, randomAdjusted(r, 20+r.IntN(25)))
	}
	var out adjustedOutput
	crosscheck(t, "adjusted.R", cases, &out)
	compareAdjusted(t, cases, out, 30)
}

// Values are the same sums at maxima that both sides find to 1e-9 or so: 1e-7.
// R's errors come from differences of estimates over steps of 1e-4, good to
// 1e-8 and to the rounding of the estimates over the step: 1e-5.
func compareAdjusted(t *testing.T, cases []adjustedCase, out adjustedOutput, least int) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		want := out.Cases[i]
		f, err := FitCox(c.times(), c.X, c.terms(), c.options())
		if err != nil || want.Failed[0] {
			continue // what has no maximum is of FitCox's own tests
		}
		a, err := f.AdjustedSurvival([][][]float64{atLevel(c.X, 0), atLevel(c.X, 1)}, AdjustedOptions{Weights: c.Mean, Given: c.Given})
		if err != nil {
			continue // a stratum without events
		}
		var got []AdjustedValues
		for _, at := range c.At {
			v, err := a.At(at)
			must(t, err)
			got = append(got, v)
		}
		v, err := a.RestrictedMeans(c.Horizon)
		if err != nil {
			continue
		}
		got = append(got, v)
		k := len(got)
		variance := func(i, j int) float64 { return float64(want.Covariance[i][j]) }
		for q, v := range got {
			for g, e := range v.Values {
				if !near(e.Value, float64(want.Numbers[g*k+q]), 1e-7) || !near(e.SE, math.Sqrt(variance(g*k+q, g*k+q)), 1e-5) {
					t.Errorf("case %d, number %d of level %d: %v (%v), want %v (%v)", i+1, q, g, e.Value, e.SE, want.Numbers[g*k+q], math.Sqrt(variance(g*k+q, g*k+q)))
				}
				if q < k-1 && !near(e.Value, float64(want.Rowwise[g*(k-1)+q]), 1e-7) {
					t.Errorf("case %d, survival %d of level %d: %v, want %v by rows", i+1, q, g, e.Value, want.Rowwise[g*(k-1)+q])
				}
			}
			se := math.Sqrt(math.Max(0, variance(q, q)+variance(k+q, k+q)-2*variance(q, k+q)))
			if d, err := v.Difference(1, 0); err == nil && math.Abs(d.SE-se) > 1e-5*math.Max(se, v.Values[0].SE) {
				t.Errorf("case %d, difference %d: SE %v, want %v", i+1, q, d.SE, se)
			}
		}
		compared++
	}
	t.Logf("%s: %d data sets", out.Version, compared)
	if compared < least {
		t.Errorf("%d data sets compared, expected %d", compared, least)
	}
}
