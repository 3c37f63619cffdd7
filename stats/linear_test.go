package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestLongleyCertified(t *testing.T) {
	want := published.Load(t, "nist-longley")
	terms := []string{"deflator", "gnp", "unemployed", "armed", "population", "year"}
	columns := make([][]float64, len(terms))
	for j, term := range terms {
		columns[j] = want.Floats(term)
	}
	y := want.Floats("employed")
	x := newMatrix(len(y), len(terms))
	for i := range y {
		for j := range terms {
			x[i][j] = columns[j][i]
		}
	}
	f, err := FitLinear(x, terms, y, GLMOptions{})
	must(t, err)
	for j, term := range append([]string{"intercept"}, terms...) {
		want.Check(term, f.Coefficients[j])
		want.Check(term+"_se", f.SE[j])
	}
	want.Check("residual_sd", f.ResidualSD)
	want.Check("r2", f.RSquared)
}

// With one yes-or-no covariate it is Student's test of two samples; with a
// column for each of several groups its F is that of the analysis of variance.
func TestLinearIsStudent(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 81))
	for range 50 {
		var x, dummy [][]float64
		var y []float64
		groups := make([][]float64, 3)
		for i := range 12 + r.IntN(30) {
			v := 100 + r.NormFloat64()
			y, x = append(y, v), append(x, []float64{float64(min(i%3, 1))})
			dummy = append(dummy, []float64{float64(i % 3 % 2), float64(i % 3 / 2)})
			groups[i%3] = append(groups[i%3], v)
		}
		f, err := FitLinear(x, []string{"x"}, y, GLMOptions{})
		must(t, err)
		s, err := StudentTest(append(append([]float64{}, groups[1]...), groups[2]...), groups[0], 0)
		must(t, err)
		e := f.Estimates[0]
		if !near(e.Value, s.Difference.Value, 1e-10) || !near(e.Lower, s.Difference.Lower, 1e-10) || !near(e.P, s.Test.P, 1e-10) {
			t.Errorf("%+v, want %+v", e, s.Difference)
		}
		g, err := FitLinear(dummy, []string{"a", "b"}, y, GLMOptions{})
		must(t, err)
		v, err := AnalysisOfVariance(groups)
		must(t, err)
		if !near(g.Tests[0].Statistic, v.Test.Statistic, 1e-9) || !near(g.Tests[0].P, v.Test.P, 1e-9) || !near(g.ResidualSD, v.ResidualSD, 1e-10) {
			t.Errorf("F %v (%v), want %v (%v)", g.Tests[0].Statistic, g.Tests[0].P, v.Test.Statistic, v.Test.P)
		}
	}
}

// Clustered by single rows without correction, the error of a mean difference is
// that of White: the root of the sums of squared deviations over n² of each.
func TestLinearRobust(t *testing.T) {
	y := []float64{1, 4, 6, 2, 2, 9}
	x := [][]float64{{0}, {0}, {0}, {1}, {1}, {1}}
	f, err := FitLinear(x, []string{"x"}, y, GLMOptions{Cluster: []int{1, 2, 3, 4, 5, 6}, Robust: CR0})
	must(t, err)
	a, b := Describe(y[:3]), Describe(y[3:])
	if want := math.Sqrt(2 * (a.SD*a.SD + b.SD*b.SD) / 9); !near(f.SE[1], want, 1e-12) {
		t.Errorf("SE %v, want %v", f.SE[1], want)
	}
}

func TestLinearRefuses(t *testing.T) {
	x := [][]float64{{0}, {1}, {2}, {3}}
	for _, c := range []struct {
		name string
		x    [][]float64
		y    []float64
		want error
	}{
		{"nothing", nil, nil, ErrNoData},
		{"as many rows as coefficients", x[:2], []float64{1, 2}, ErrTooFewRows},
		{"one outcome", x, []float64{3, 3, 3, 3}, ErrNoVariance},
		{"a straight line", x, []float64{1, 3, 5, 7}, ErrNoVariance},
		{"a constant column", [][]float64{{1}, {1}, {1}}, []float64{1, 2, 4}, ErrCollinear},
		{"not a number", x, []float64{1, math.NaN(), 2, 3}, ErrNotFinite},
	} {
		if _, err := FitLinear(c.x, []string{"x"}, c.y, GLMOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}
