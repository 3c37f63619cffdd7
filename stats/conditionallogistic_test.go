package stats

import (
	"errors"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestConditionalLogisticPublished(t *testing.T) {
	want := published.Load(t, "trichopoulos-1976")
	cases, spontaneous, induced, set := want.Ints("case"), want.Floats("spontaneous"), want.Floats("induced"), want.Ints("stratum")
	var x [][]float64
	var y []bool
	for i := range cases {
		x, y = append(x, []float64{spontaneous[i], induced[i]}), append(y, cases[i] == 1)
	}
	f, err := FitConditionalLogistic(x, []string{"spontaneous", "induced"}, y, set, ConditionalOptions{})
	must(t, err)
	for j, term := range f.Terms {
		want.Check(term, f.Coefficients[j])
		want.Check("SE of "+term, f.SE[j])
	}
	if f.Estimates[0].Measure != "odds ratio" || f.Events != 83 {
		t.Errorf("%s of %d events", f.Estimates[0].Measure, f.Events)
	}
}

// Of pairs with one covariate it is the odds ratio of the discordant pairs b/c,
// with the error sqrt(1/b + 1/c); of matched sets the exact common odds ratio.
func TestConditionalLogisticOfPairs(t *testing.T) {
	var x [][]float64
	var y []bool
	var set []int
	add := func(n int, caseExposed, controlExposed float64) {
		for range n {
			s := len(y)
			x, y, set = append(x, []float64{caseExposed}, []float64{controlExposed}), append(y, true, false), append(set, s, s)
		}
	}
	add(5, 1, 1)
	add(9, 1, 0)
	add(4, 0, 1)
	add(7, 0, 0)
	x, y, set = append(x, []float64{1}, []float64{0}), append(y, false, false), append(set, -1, -1)
	f, err := FitConditionalLogistic(x, []string{"exposed"}, y, set, ConditionalOptions{})
	must(t, err)
	if !near(f.Estimates[0].Value, 9.0/4, 1e-8) || !near(f.SE[0], math.Sqrt(1.0/9+1.0/4), 1e-8) {
		t.Errorf("odds ratio %v (%v), want 9/4", f.Estimates[0].Value, f.SE[0])
	}
	if w := f.Warnings[len(f.Warnings)-1]; w.Code != "uninformative-sets" || f.Clusters != 25 {
		t.Errorf("%d sets, %+v", f.Clusters, w)
	}
}

func TestConditionalLogisticRefuses(t *testing.T) {
	x := [][]float64{{1}, {0}, {1}, {0}}
	for _, c := range []struct {
		name string
		x    [][]float64
		y    []bool
		set  []int
		want error
	}{
		{"nothing", nil, nil, nil, ErrNoData},
		{"no events", x, []bool{false, false, false, false}, []int{1, 1, 2, 2}, ErrNoEvents},
		{"sets agree", x, []bool{true, true, false, false}, []int{1, 1, 2, 2}, ErrNoVariance},
		{"the same within sets", [][]float64{{1}, {1}, {0}, {0}}, []bool{true, false, true, false}, []int{1, 1, 2, 2}, ErrCollinear},
		{"separation", x, []bool{true, false, true, false}, []int{1, 1, 2, 2}, ErrSeparation},
	} {
		if _, err := FitConditionalLogistic(c.x, []string{"x"}, c.y, c.set, ConditionalOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}
