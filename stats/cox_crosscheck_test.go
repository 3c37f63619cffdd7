package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// A coxCase is a data set with the choices of a model; a nil slice is not
// given.
type coxCase struct {
	Entry   []float64   `json:"entry"`
	Exit    []float64   `json:"exit"`
	Status  []int       `json:"status"`
	Stratum []int       `json:"stratum"`
	Weight  []float64   `json:"weight"`
	Offset  []float64   `json:"offset"`
	Cluster []int       `json:"cluster"`
	X       [][]float64 `json:"x"`
	Ties    string      `json:"ties"`
	More    bool        `json:"more"` // whether residuals and hazards are wanted
}

func (c coxCase) times() Times {
	return survivalCase{Entry: c.Entry, Exit: c.Exit, Status: c.Status}.times()
}

func (c coxCase) options() CoxOptions {
	return CoxOptions{Ties: c.Ties, Strata: c.Stratum, Weights: c.Weight, Offset: c.Offset, Cluster: c.Cluster}
}

func (c coxCase) terms() []string { return survivalCase{X: c.X}.terms() }

// randomCoxCase makes a data set on which the choices vary: each of late entry,
// strata, weights, offsets and clusters is there in about half. Weights are
// whole or not, and far from 1.
func randomCoxCase(r *rand.Rand, n int, ties string) coxCase {
	delayed := r.IntN(2) == 1
	s := randomCase(r, n, delayed)
	c := coxCase{Exit: s.Exit, Status: s.Status, X: s.X, Ties: ties}
	if delayed {
		c.Entry = s.Entry
	}
	if strata := 1 + r.IntN(5); r.IntN(2) == 1 {
		for range n {
			c.Stratum = append(c.Stratum, r.IntN(strata)-2)
		}
	}
	if r.IntN(2) == 1 {
		for i := range n {
			c.Offset = append(c.Offset, 0.3*float64(r.IntN(7)-3))
			if c.Stratum != nil {
				c.Offset[i] += 2 * float64(c.Stratum[i])
			}
		}
	}
	if ties == TiesExact {
		return c
	}
	if unit := math.Pow(10, float64(r.IntN(7)-3)); r.IntN(2) == 1 {
		for range n {
			c.Weight = append(c.Weight, unit*float64(1+r.IntN(20))/4)
		}
	}
	if r.IntN(2) == 1 {
		c.Cluster = s.Cluster
	}
	return c
}

// randomExactCase is small where entry is late: R goes through all subsets there.
func randomExactCase(r *rand.Rand) coxCase {
	for {
		c := randomCoxCase(r, 14+r.IntN(66), TiesExact)
		if c.Entry == nil || len(c.Exit) < 26 {
			return c
		}
	}
}

func randomCoxCases(seed uint64, each int) []coxCase {
	r := rand.New(rand.NewPCG(seed, 27))
	var cases []coxCase
	for i := range each {
		cases = append(cases,
			randomCoxCase(r, 30+r.IntN(70), TiesEfron),
			randomCoxCase(r, 30+r.IntN(70), TiesBreslow),
			randomExactCase(r))
		cases[3*i].More, cases[3*i+1].More = i%2 == 0, i%2 == 0
	}
	return cases
}

// What cox.R answers.
type coxOutput struct {
	Version []string
	Cases   []coxMoreAnswer
}

type coxMoreAnswer struct {
	coxAnswer
	Average, Equal       []number // of all coefficients, where there are several
	Martingale, Deviance []number
	Scores, DFBeta       [][]number
	Hazard               []struct {
		Stratum          []int
		Time, Hazard, SE []number
	}
}

// TestCoxAgainstStoredR compares with the committed output of cox.R on
// cox_input.json.
func TestCoxAgainstStoredR(t *testing.T) {
	var cases []coxCase
	var out coxOutput
	storedCrosscheck(t, "cox", &cases, &out)
	compareCoxCases(t, cases, out.Cases, 2)
}

// TestCoxAgainstR compares with R itself on 530 random data sets for each way
// to handle ties.
func TestCoxAgainstR(t *testing.T) {
	t.Parallel()
	cases := randomCoxCases(1, 530)
	var out coxOutput
	crosscheck(t, "cox.R", cases, &out)
	t.Log(out.Version)
	compareCoxCases(t, cases, out.Cases, 500)
}

// compareCoxCases wants at least so many fits compared for each way to handle
// ties.
func compareCoxCases(t *testing.T, cases []coxCase, answers []coxMoreAnswer, least int) {
	t.Helper()
	if len(cases) != len(answers) {
		t.Fatalf("%d answers for %d cases", len(answers), len(cases))
	}
	fitted := map[string]int{}
	for i, c := range cases {
		t.Run(fmt.Sprintf("case %d", i+1), func(t *testing.T) {
			f, err := FitCox(c.times(), c.X, c.terms(), c.options())
			if !compareCoxFit(t, c.Ties, f, err, answers[i].coxAnswer, c.Weight != nil || c.Cluster != nil) {
				return
			}
			fitted[c.Ties]++
			if len(answers[i].Equal) > 0 {
				compareCombinations(t, f, answers[i])
				fitted["combinations"]++
			}
			if c.More {
				compareCoxResiduals(t, f, answers[i])
				compareCumulativeHazards(t, f, c.X[0], answers[i])
				fitted["more"]++
			}
		})
	}
	for _, ties := range []string{TiesEfron, TiesBreslow, TiesExact, "combinations", "more"} {
		t.Logf("%s: %d models compared", ties, fitted[ties])
		if fitted[ties] < least {
			t.Errorf("%s: %d models compared, expected %d", ties, fitted[ties], least)
		}
	}
}

func compareCombinations(t *testing.T, f Fit, want coxMoreAnswer) {
	t.Helper()
	all, equal := []int{0}, newMatrix(len(f.Terms)-1, len(f.Terms))
	for i, row := range equal {
		row[0], row[i+1] = 1, -1
		all = append(all, i+1)
	}
	average, _, err := f.WeightedAverage("", all, 0)
	if err != nil || !near(average.Value, float64(want.Average[0]), 1e-6) || !near(average.SE, float64(want.Average[1]), 1e-6) {
		t.Errorf("average %v (%v), %v, want %v", average.Value, average.SE, err, want.Average)
	}
	if test := f.WaldTest("", equal, nil); !near(test.Statistic, float64(want.Equal[0]), 1e-6) {
		t.Errorf("equality %v, want %v", test.Statistic, want.Equal)
	}
}

func compareCoxResiduals(t *testing.T, f Fit, want coxMoreAnswer) {
	t.Helper()
	got := f.CoxResiduals()
	if len(want.Martingale) != f.N || len(want.Deviance) != f.N || len(want.Scores) != f.N || len(want.DFBeta) != f.N || len(want.Hazard) == 0 {
		t.Fatalf("%d residuals of %d rows", len(want.Martingale), f.N)
	}
	for i := range want.Martingale {
		if !near(got.Martingale[i], float64(want.Martingale[i]), 1e-6) {
			t.Errorf("martingale residual %v, want %v", got.Martingale[i], want.Martingale[i])
		}
		// Its square root turns a difference of 1e-9 near 0 into one of 3e-5.
		if !near(got.Deviance[i]*got.Deviance[i], float64(want.Deviance[i]*want.Deviance[i]), 1e-6) ||
			got.Deviance[i]*float64(want.Deviance[i]) < -1e-6 {
			t.Errorf("deviance residual %v, want %v", got.Deviance[i], want.Deviance[i])
		}
		for j := range f.Coefficients {
			if !near(got.Score[i][j], float64(want.Scores[i][j]), 1e-6) || !near(got.DFBeta[i][j], float64(want.DFBeta[i][j]), 1e-6) {
				t.Errorf("score %v, influence %v, want %v, %v", got.Score[i][j], got.DFBeta[i][j], want.Scores[i][j], want.DFBeta[i][j])
			}
		}
	}
}

// Strata without events have no curve here.
func compareCumulativeHazards(t *testing.T, f Fit, x []float64, want coxMoreAnswer) {
	t.Helper()
	got, err := f.CumulativeHazards(x)
	if err != nil {
		t.Fatal(err)
	}
	at := 0
	for _, w := range want.Hazard {
		if len(w.Time) == 0 {
			continue
		}
		h := got[at]
		at++
		if f.Strata > 0 && h.Stratum != w.Stratum[0] || len(h.Time) != len(w.Time) {
			t.Fatalf("stratum %d with %d times, want %d with %d", h.Stratum, len(h.Time), w.Stratum[0], len(w.Time))
		}
		for i := range w.Time {
			if h.Time[i] != float64(w.Time[i]) || !near(h.Hazard[i], float64(w.Hazard[i]), 1e-6) {
				t.Errorf("hazard %v at %v, want %v at %v", h.Hazard[i], h.Time[i], w.Hazard[i], w.Time[i])
			}
			if (h.SE == nil) != (f.Robust != "") || (h.SE != nil && !near(h.SE[i], float64(w.SE[i]), 1e-6)) {
				t.Errorf("SE %v, want %v", h.SE, w.SE)
			}
		}
	}
	if at != len(got) {
		t.Errorf("%d curves, want %d", len(got), at)
	}
}
