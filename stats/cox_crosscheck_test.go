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

func randomCoxCases(seed uint64, each int) []coxCase {
	r := rand.New(rand.NewPCG(seed, 27))
	var cases []coxCase
	for range each {
		cases = append(cases,
			randomCoxCase(r, 30+r.IntN(70), TiesEfron),
			randomCoxCase(r, 30+r.IntN(70), TiesBreslow),
			// R goes through all subsets where entry is late.
			randomCoxCase(r, 14+r.IntN(12), TiesExact))
	}
	return cases
}

// TestCoxAgainstStoredR compares with the committed output of cox.R on
// cox_input.json.
func TestCoxAgainstStoredR(t *testing.T) {
	var cases []coxCase
	var out struct {
		Version []string
		Cases   []coxAnswer
	}
	storedCrosscheck(t, "cox", &cases, &out)
	compareCoxCases(t, cases, out.Cases, 2)
}

// TestCoxAgainstR compares with R itself on 600 random data sets for each way
// to handle ties.
func TestCoxAgainstR(t *testing.T) {
	cases := randomCoxCases(1, 600)
	var out struct {
		Version []string
		Cases   []coxAnswer
	}
	crosscheck(t, "cox.R", cases, &out)
	t.Log(out.Version)
	compareCoxCases(t, cases, out.Cases, 500)
}

// compareCoxCases wants at least so many fits compared for each way to handle
// ties.
func compareCoxCases(t *testing.T, cases []coxCase, answers []coxAnswer, least int) {
	t.Helper()
	if len(cases) != len(answers) {
		t.Fatalf("%d answers for %d cases", len(answers), len(cases))
	}
	fitted := map[string]int{}
	for i, c := range cases {
		t.Run(fmt.Sprintf("case %d", i+1), func(t *testing.T) {
			f, err := FitCox(c.times(), c.X, c.terms(), c.options())
			if compareCoxFit(t, c.Ties, f, err, answers[i], c.Weight != nil || c.Cluster != nil) {
				fitted[c.Ties]++
			}
		})
	}
	for _, ties := range []string{TiesEfron, TiesBreslow, TiesExact} {
		t.Logf("%s ties: %d models compared", ties, fitted[ties])
		if fitted[ties] < least {
			t.Errorf("%s ties: %d models compared, expected %d", ties, fitted[ties], least)
		}
	}
}
