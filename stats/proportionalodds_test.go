package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestProportionalOddsPublished(t *testing.T) {
	want := published.Load(t, "agresti-2002-mental")
	y, ses, life := want.Floats("impairment"), want.Floats("ses"), want.Floats("life")
	var x [][]float64
	var level []int
	for i := range y {
		x, level = append(x, []float64{life[i], ses[i]}), append(level, int(y[i]))
	}
	f, err := FitProportionalOdds(x, []string{"life events", "high status"}, level, []string{"well", "mild", "moderate", "impaired"}, OrdinalOptions{})
	must(t, err)
	for i, term := range f.Terms {
		want.Check(term, f.Coefficients[i])
	}
}

// One threshold is logistic regression.
func TestProportionalOddsOfTwoLevelsIsLogistic(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 80))
	for range 50 {
		c := randomGLM(r, 60)
		level := make([]int, len(c.Yes))
		for i, yes := range c.Yes {
			if yes {
				level[i] = 1
			}
		}
		want, failed := FitLogistic(c.X, c.terms(), c.Yes, GLMOptions{Cluster: c.Cluster})
		got, err := FitProportionalOdds(c.X, c.terms(), level, []string{"no", "yes"}, OrdinalOptions{Cluster: c.Cluster})
		if failed != nil || err != nil {
			if !errors.Is(err, ErrSeparation) || !errors.Is(failed, ErrSeparation) {
				t.Errorf("%v, logistic %v", err, failed)
			}
			continue
		}
		if !near(got.LogLik, want.LogLik, 1e-10) || !near(got.NullLogLik, want.NullLogLik, 1e-10) || !near(-got.Coefficients[0], want.Coefficients[0], 1e-7) {
			t.Errorf("log likelihood %v (null %v), want %v (%v)", got.LogLik, got.NullLogLik, want.LogLik, want.NullLogLik)
		}
		for j, e := range got.Estimates {
			if w := want.Estimates[j]; !near(e.Value, w.Value, 1e-7) || !near(e.SE, w.SE, 1e-7) || !near(e.P, w.P, 1e-7) {
				t.Errorf("%+v, want %+v", e, w)
			}
		}
		if len(got.Tests) != len(want.Tests) || !near(got.Tests[0].Statistic, want.Tests[0].Statistic, 1e-6) {
			t.Errorf("tests %+v, want %+v", got.Tests, want.Tests)
		}
	}
}

// With a group's indicators the score test is Pearson's chi-square against the
// expected counts, and the cut points meet the margins that the scores are of.
func TestProportionalityIsPearson(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 80))
	compared := 0
	for range 100 {
		groups, levels := 2+r.IntN(3), 3+r.IntN(2)
		names := []string{"a", "b", "c", "d"}
		table := make([][]int, groups)
		var x [][]float64
		var y []int
		for g := range groups {
			table[g] = make([]int, levels)
			row := make([]float64, groups-1)
			if g > 0 {
				row[g-1] = 1
			}
			for k := range levels {
				table[g][k] = r.IntN(12)
				for range table[g][k] {
					x, y = append(x, row), append(y, k)
				}
			}
		}
		f, err := FitProportionalOdds(x, names[:groups-1], y, names[:levels], OrdinalOptions{})
		if err != nil {
			continue
		}
		compared++
		pearson := 0.0
		for g, row := range table {
			n, shift := 0, 0.0
			for _, c := range row {
				n += c
			}
			if g > 0 {
				shift = f.Coefficients[levels-1+g-1]
			}
			below := 0.0
			for k, c := range row {
				above := 1.0
				if k < levels-1 {
					above = 1 / (1 + math.Exp(shift-f.Coefficients[k]))
				}
				expected := float64(n) * (above - below)
				below = above
				pearson += (float64(c) - expected) * (float64(c) - expected) / expected
			}
		}
		test := f.Tests[2]
		if !near(test.Statistic, pearson, 1e-7) || test.DF != float64((levels-2)*(groups-1)) {
			t.Errorf("score test %v on %v, Pearson's chi-square %v", test.Statistic, test.DF, pearson)
		}
	}
	if compared < 80 {
		t.Errorf("only %d tables", compared)
	}
}

// Levels read from the other end give the inverse ratios, and the same tests.
func TestProportionalOddsReversed(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 80))
	for range 30 {
		c := randomOrdinal(r)
		turned := make([]int, len(c.Y))
		for i, k := range c.Y {
			turned[i] = c.Levels - 1 - k
		}
		a, err := FitProportionalOdds(c.X, c.terms(), c.Y, c.names(), OrdinalOptions{Cluster: c.Cluster})
		b, other := FitProportionalOdds(c.X, c.terms(), turned, c.names(), OrdinalOptions{Cluster: c.Cluster})
		if err != nil || other != nil {
			if (err == nil) != (other == nil) {
				t.Errorf("%v, reversed %v", err, other)
			}
			continue
		}
		for j, e := range a.Estimates {
			if !near(e.Value*b.Estimates[j].Value, 1, 1e-7) || !near(e.SE, b.Estimates[j].SE, 1e-7) {
				t.Errorf("%v (%v), reversed %v (%v)", e.Value, e.SE, b.Estimates[j].Value, b.Estimates[j].SE)
			}
		}
	}
}

func TestProportionalOddsRefuses(t *testing.T) {
	three := []string{"none", "mild", "severe"}
	for _, c := range []struct {
		name   string
		x      []float64
		y      []int
		levels []string
		want   error
	}{
		{"no rows", nil, nil, three, ErrNoData},
		{"one level", []float64{0, 1, 2}, []int{0, 0, 0}, three[:1], ErrNoVariance},
		{"a level without rows", []float64{0, 1, 0, 1}, []int{0, 2, 2, 0}, three, ErrNoData},
		{"two rows that differ", []float64{0, 1}, []int{0, 1}, three[:2], ErrSeparation},
		{"separated", []float64{0, 0, 0, 1, 1, 1}, []int{0, 0, 0, 1, 2, 2}, three, ErrSeparation},
		{"quasi-separated", []float64{0, 0, 0, 1, 1, 1}, []int{0, 1, 2, 2, 2, 2}, three, ErrSeparation},
		{"a constant", []float64{1, 1, 1, 1}, []int{0, 1, 2, 0}, three, ErrCollinear},
		{"not a number", []float64{1, math.NaN(), 1, 1}, []int{0, 1, 2, 0}, three, ErrNotFinite},
	} {
		var x [][]float64
		for _, v := range c.x {
			x = append(x, []float64{v})
		}
		_, err := FitProportionalOdds(x, []string{"x"}, c.y, c.levels, OrdinalOptions{})
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if _, err := FitProportionalOdds([][]float64{{0, 1}, {1, 0}, {1, 1}}, []string{"a", "b"}, []int{0, 1, 2}, three, OrdinalOptions{}); !errors.Is(err, ErrTooFewRows) {
		t.Errorf("three rows for four coefficients: %v", err)
	}
	one := []int{1, 1, 1, 1, 1, 1}
	if _, err := FitProportionalOdds([][]float64{{0}, {1}, {0}, {1}, {0}, {1}}, []string{"x"}, []int{0, 1, 2, 0, 1, 2}, three, OrdinalOptions{Cluster: one}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one cluster: %v", err)
	}
	panics(t, "outcome 3 of row 1", func() {
		_, _ = FitProportionalOdds([][]float64{{0}}, []string{"x"}, []int{3}, three, OrdinalOptions{})
	})
}

// Grades of pain of six children in soft and six in stiff boots. The figures come
// from a maximisation by another program as well; the ratio is 1 + √6.
func ExampleFitProportionalOdds() {
	stiff := [][]float64{{0}, {0}, {0}, {0}, {0}, {0}, {1}, {1}, {1}, {1}, {1}, {1}}
	grade := []int{0, 0, 0, 0, 1, 2, 0, 0, 1, 1, 2, 2}
	f, err := FitProportionalOdds(stiff, []string{"stiff"}, grade, []string{"none", "mild", "severe"}, OrdinalOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	e, p := f.Estimates[0], f.Tests[2]
	fmt.Printf("odds ratio of a higher grade %.2f (%.2f to %.1f)\n", e.Value, e.Lower, e.Upper)
	fmt.Printf("%s: %.3f on %g, P = %.2f\n", p.Name, p.Statistic, p.DF, p.P)
	// Output:
	// odds ratio of a higher grade 3.45 (0.36 to 32.8)
	// score test of proportional odds: 0.141 on 1, P = 0.71
}
