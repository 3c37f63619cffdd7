package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// A robustCurveCase is what robustcurve.R reads.
type robustCurveCase struct {
	Entry   []float64 `json:"entry"`
	Exit    []float64 `json:"exit"`
	Status  []bool    `json:"status"`
	Weight  []float64 `json:"weight"`
	Cluster []int     `json:"cluster"`
	Horizon float64   `json:"horizon"`
}

func randomRobustCurve(r *rand.Rand, n int) robustCurveCase {
	c := robustCurveCase{Horizon: 0.5}
	days := 4 + r.IntN(30)
	late := r.IntN(2) == 0
	for i := range n {
		entry, exit := 0, 1+r.IntN(days)
		if late && i >= n/3 && r.IntN(2) == 0 {
			entry = r.IntN(exit)
		}
		c.Entry, c.Exit = append(c.Entry, float64(entry)), append(c.Exit, float64(exit))
		c.Status, c.Weight = append(c.Status, r.IntN(3) > 0), append(c.Weight, math.Exp(r.NormFloat64()/2))
		c.Cluster = append(c.Cluster, i/2)
	}
	c.Horizon = math.Max(1.5, 0.6*slices.Max(c.Exit))
	return c
}

type robustCurveOutput struct {
	Version []string
	Cases   []struct {
		Weighed, Both, Clustered struct{ Survival, SE, Lower, Upper []number }
		Arcsine                  struct{ Lower, Upper []number }
		Hazard, HazardSE         []float64
		BothHazard, BothHazardSE []float64 // with weights and clusters
		MeanSE                   []float64
	}
}

func TestRobustCurveAgainstStoredR(t *testing.T) {
	var cases []robustCurveCase
	var out robustCurveOutput
	storedCrosscheck(t, "robustcurve", &cases, &out)
	compareRobustCurve(t, cases, out)
}

// TestRobustCurveAgainstR compares with R on 500 random data sets, half of them
// with late entry.
func TestRobustCurveAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 9))
	var cases []robustCurveCase
	for range 500 {
		cases = append(cases, randomRobustCurve(r, 10+r.IntN(60)))
	}
	var out robustCurveOutput
	crosscheck(t, "robustcurve.R", cases, &out)
	compareRobustCurve(t, cases, out)
}

// Both sides add the same fractions in another order: 1e-8.
func compareRobustCurve(t *testing.T, cases []robustCurveCase, out robustCurveOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	const close = 1e-8
	for i, c := range cases {
		want := out.Cases[i]
		times := Times{c.Entry, c.Exit, c.Status}
		compare := func(what string, opts CurveOptions, survival, se, lower, upper []number) {
			got := mustCurve(t, times, opts)
			for s := range got.Time {
				if got.Survival[s] == 0 || got.Survival[s] == 1 {
					continue // limits there are NaN here and conventions there
				}
				pairs := [][2]float64{{got.Lower[s], float64(lower[s])}, {got.Upper[s], float64(upper[s])}}
				if survival != nil {
					pairs = append(pairs, [2]float64{got.Survival[s], float64(survival[s])}, [2]float64{got.SE[s], float64(se[s])})
				}
				for k, p := range pairs {
					if !near(p[0], p[1], close) {
						t.Fatalf("case %d, %s at %v, quantity %d: got %v, want %v", i+1, what, got.Time[s], k, p[0], p[1])
					}
				}
			}
		}
		compare("weights", CurveOptions{Weights: c.Weight}, want.Weighed.Survival, want.Weighed.SE, want.Weighed.Lower, want.Weighed.Upper)
		compare("weights and clusters", CurveOptions{Weights: c.Weight, Cluster: c.Cluster, Limits: LimitsLog}, want.Both.Survival, want.Both.SE, want.Both.Lower, want.Both.Upper)
		compare("clusters", CurveOptions{Cluster: c.Cluster, Limits: LimitsArcsine}, want.Clustered.Survival, want.Clustered.SE, want.Clustered.Lower, want.Clustered.Upper)
		compare("arcsine", CurveOptions{Limits: LimitsArcsine}, nil, nil, want.Arcsine.Lower, want.Arcsine.Upper)
		h, err := NelsonAalen(times, CurveOptions{})
		must(t, err)
		for s := range h.Time {
			if !near(h.Hazard[s], want.Hazard[s], close) || !near(h.SE[s], want.HazardSE[s], close) {
				t.Fatalf("case %d, hazard at %v: %v (%v), want %v (%v)", i+1, h.Time[s], h.Hazard[s], h.SE[s], want.Hazard[s], want.HazardSE[s])
			}
		}
		h, err = NelsonAalen(times, CurveOptions{Weights: c.Weight, Cluster: c.Cluster})
		must(t, err)
		for s := range h.Time {
			se := h.SE[s]
			if math.IsNaN(se) {
				se = 0 // one child alone was at risk: R's influences vanish likewise
			}
			if !near(h.Hazard[s], want.BothHazard[s], close) || !near(se, want.BothHazardSE[s], close) {
				t.Fatalf("case %d, weighted hazard by cluster at %v: %v (%v), want %v (%v)", i+1, h.Time[s], h.Hazard[s], h.SE[s], want.BothHazard[s], want.BothHazardSE[s])
			}
		}
		mean := mustCurve(t, times, CurveOptions{Cluster: c.Cluster}).RestrictedMean(c.Horizon)
		if !math.IsNaN(mean.Value) && !near(mean.SE, want.MeanSE[0], close) {
			t.Errorf("case %d, SE of the mean up to %v: %v, want %v", i+1, c.Horizon, mean.SE, want.MeanSE[0])
		}
	}
	t.Logf("%s: %d data sets", out.Version, len(cases))
}
