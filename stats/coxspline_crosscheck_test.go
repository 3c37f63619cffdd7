package stats

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// A coxSplineCase is what coxspline.R reads.
type coxSplineCase struct {
	Exit      []float64 `json:"exit"`
	Status    []int     `json:"status"`
	Group     []float64 `json:"group"`
	X         []float64 `json:"x"`
	Cluster   []int     `json:"cluster"`
	Knots     []float64 `json:"knots"`
	At        []float64 `json:"at"`
	Reference float64   `json:"reference"`
}

type coxSplineOutput struct {
	Version []string
	Cases   []struct{ LogLik, Log, SE, Term, Curvature []number }
}

// randomCoxSpline makes a hazard that turns in x, knots among its values and
// points within and beyond them.
func randomCoxSpline(r *rand.Rand) coxSplineCase {
	n := 80 + r.IntN(80)
	c := coxSplineCase{Reference: 11}
	for i := range n {
		x, group := 6+10*r.Float64(), float64(r.IntN(2))
		exit := math.Ceil(20 * r.ExpFloat64() / math.Exp(0.5*group+math.Sin(x/2)))
		stop := 1 + float64(r.IntN(60))
		status := 1
		if stop < exit {
			exit, status = stop, 0
		}
		c.X, c.Group, c.Exit, c.Status = append(c.X, x), append(c.Group, group), append(c.Exit, exit), append(c.Status, status)
		c.Cluster = append(c.Cluster, i/2)
	}
	knots, err := QuantileKnots(c.X, 3+r.IntN(3))
	if err != nil {
		panic(err)
	}
	c.Knots = knots
	if r.IntN(2) == 0 { // so that rows lie beyond the outer ones
		c.Knots[0]++
		c.Knots[len(knots)-1]--
	}
	c.At = []float64{5, 7, 9.5, 13, 17}
	return c
}

func TestCoxSplineAgainstStoredR(t *testing.T) {
	var cases []coxSplineCase
	var out coxSplineOutput
	storedCrosscheck(t, "coxspline", &cases, &out)
	compareCoxSpline(t, cases, out)
}

// TestCoxSplineAgainstR compares with R on 300 random data sets.
func TestCoxSplineAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 21))
	var cases []coxSplineCase
	for range 300 {
		cases = append(cases, randomCoxSpline(r))
	}
	var out coxSplineOutput
	crosscheck(t, "coxspline.R", cases, &out)
	compareCoxSpline(t, cases, out)
}

// Maxima on two bases agree to 1e-9 of a log likelihood, coefficients to its root's
// order: 1e-6.
func compareCoxSpline(t *testing.T, cases []coxSplineCase, out coxSplineOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		want := out.Cases[i]
		s, err := NewNaturalSpline(c.Knots)
		must(t, err)
		p := s.Columns()
		times := Times{Exit: c.Exit}
		var x [][]float64
		for k, v := range c.X {
			times.Status = append(times.Status, c.Status[k] == 1)
			x = append(x, append(slices.Clone(s.At(v)), c.Group[k]))
		}
		terms := []string{"linear", "curve 1", "curve 2", "curve 3", "curve 4"}[:p]
		f, err := FitCox(times, x, append(slices.Clone(terms), "group"), CoxOptions{Cluster: c.Cluster})
		must(t, err)
		check := func(what string, got float64, want number) {
			t.Helper()
			if !near(got, float64(want), 1e-6) {
				t.Errorf("case %d, %s: %v, want %v", i+1, what, got, want)
			}
		}
		check("log likelihood", f.LogLik, want.LogLik[0])
		columns := []int{0, 1, 2, 3, 4}[:p]
		check("test of the term", f.JointTest("", columns).Statistic, want.Term[0])
		check("test of curvature", f.JointTest("", columns[1:]).Statistic, want.Curvature[0])
		zero := s.At(c.Reference)
		for k, at := range c.At {
			combination := make([]float64, p+1)
			for j, v := range s.At(at) {
				combination[j] = v - zero[j]
			}
			e := f.Ratio("", combination, 0)
			if math.Abs(math.Log(e.Value)-float64(want.Log[k])) > 1e-6*math.Max(1, float64(want.SE[k])) {
				t.Errorf("case %d, log ratio at %v: %v, want %v", i+1, at, math.Log(e.Value), want.Log[k])
			}
			check("its SE", e.SE, want.SE[k])
		}
	}
	t.Logf("%s: %d data sets", out.Version, len(cases))
}
