package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// A meanCase is what restrictedmean.R reads.
type meanCase struct {
	Entry   []float64 `json:"entry"`
	Exit    []float64 `json:"exit"`
	Status  []bool    `json:"status"`
	Horizon float64   `json:"horizon"`
}

type meanOutput struct {
	Version []string
	Cases   []struct{ Mean, SE []number }
}

// randomMeans draws data sets with ties; the horizon is within the data, where
// R, which draws the curve on, and we agree.
func randomMeans(r *rand.Rand, n int) []meanCase {
	var cases []meanCase
	for len(cases) < n {
		c := meanCase{Entry: []float64{}}
		for range 5 + r.IntN(60) {
			c.Exit = append(c.Exit, float64(1+r.IntN(40)))
			c.Status = append(c.Status, r.IntN(3) > 0)
		}
		first, last := slices.Min(c.Exit), slices.Max(c.Exit) // R takes no earlier one
		c.Horizon = first + math.Ceil((last-first)*r.Float64())
		cases = append(cases, c)
	}
	return cases
}

func TestRestrictedMeanAgainstStoredR(t *testing.T) {
	var cases []meanCase
	var out meanOutput
	storedCrosscheck(t, "restrictedmean", &cases, &out)
	compareMeans(t, cases, out)
}

func TestRestrictedMeanAgainstR(t *testing.T) {
	cases := randomMeans(rand.New(rand.NewPCG(1, 1)), 500)
	var out meanOutput
	crosscheck(t, "restrictedmean.R", cases, &out)
	compareMeans(t, cases, out)
}

// Closed forms: 1e-8, relatively.
func compareMeans(t *testing.T, cases []meanCase, out meanOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		curve, err := KaplanMeier(Times{nil, c.Exit, c.Status}, CurveOptions{})
		must(t, err)
		e, want := curve.RestrictedMean(c.Horizon), out.Cases[i]
		if !nearRelative(e.Value, float64(want.Mean[0]), 1e-8) || !near(e.SE, float64(want.SE[0]), 1e-8) {
			t.Errorf("case %d to %v: %.12g ± %.12g, want %.12g ± %.12g", i+1, c.Horizon, e.Value, e.SE, float64(want.Mean[0]), float64(want.SE[0]))
		}
	}
}

// Times 1, 2+, 3, 5: the areas of TestBurdenHorizonByHand. To day 4 the areas
// after days 1 and 3 are 15/8 and 3/8: variance (15/8)²/(4·3) + (3/8)²/(2·1).
func TestRestrictedMeanByHand(t *testing.T) {
	curve, err := KaplanMeier(Times{nil, []float64{1, 2, 3, 5}, []bool{true, false, true, true}}, CurveOptions{})
	must(t, err)
	e := curve.RestrictedMean(4)
	if se := math.Sqrt(225./64/12 + 9./64/2); !near(e.Value, 23./8, 1e-14) || !near(e.SE, se, 1e-14) || !near(e.Lower, 23./8-1.959963984540054*se, 1e-9) || e.Upper != 4 {
		t.Errorf("to 4: %+v, want SE %v", e, se)
	}
	if e := curve.RestrictedMean(100); !near(e.Value, 13./4, 1e-14) {
		t.Errorf("to 100: %v", e.Value)
	}
	if e := curve.RestrictedMean(0.5); e.Value != 0.5 || e.SE != 0 || !math.IsNaN(e.Lower) || !math.IsNaN(e.Upper) || !warned(e.Warnings, "limit-not-estimable") {
		t.Errorf("to 0.5: %+v", e)
	}
	open, err := KaplanMeier(Times{nil, []float64{1, 5}, []bool{true, false}}, CurveOptions{})
	must(t, err)
	if e := open.RestrictedMean(5); e.Value != 3 {
		t.Errorf("up to a censoring: %v, want 1 + 4/2", e.Value)
	}
	if e := open.RestrictedMean(6); !math.IsNaN(e.Value) || !warned(e.Warnings, "horizon-beyond-data") {
		t.Errorf("beyond: %+v", e)
	}
	panics(t, "horizon", func() { open.RestrictedMean(0) })
}

// One early heel takes the curve to 0, though two others come in later; and two
// heels of one child are the only ones at risk at an event.
func TestRestrictedMeanOfEarlyRiskSets(t *testing.T) {
	c := mustCurve(t, Times{[]float64{0, 5, 5}, []float64{3, 9, 12}, []bool{true, true, true}}, CurveOptions{})
	if e := c.RestrictedMean(10); e.Value != 3 || !math.IsNaN(e.Lower) || !warned(e.Warnings, "zero-while-at-risk") || !warned(e.Warnings, "limit-not-estimable") {
		t.Errorf("a curve that fell to 0 early: %+v", e)
	}
	c = mustCurve(t, Times{[]float64{0, 0, 5}, []float64{3, 9, 12}, []bool{true, false, true}}, CurveOptions{Cluster: []int{4, 4, 5}})
	if e := c.RestrictedMean(8); !near(e.Value, 3+0.5*5, 1e-14) || e.SE != 0 || !math.IsNaN(e.Upper) || !warned(e.Warnings, "limit-not-estimable") {
		t.Errorf("one child at risk: %+v", e)
	}
}
