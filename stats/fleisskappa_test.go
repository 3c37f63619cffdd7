package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleFleissKappa() {
	// Four feet, each rated twice into one of three bands.
	k, err := FleissKappa([][]int{{2, 0, 0}, {0, 2, 0}, {0, 1, 1}, {2, 0, 0}}, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("agreement %.2f, kappa %.3f\n", k.Observed, k.Estimate.Value)
	// Output: agreement 0.75, kappa 0.579
}

func TestFleissKappaPublished(t *testing.T) {
	want := published.Load(t, "wikipedia-fleiss-kappa")
	k, err := FleissKappa(transpose(columnsAsTable(want, "c1", "c2", "c3", "c4", "c5")), LimitOptions{})
	must(t, err)
	want.Check("observed", k.Observed)
	want.Check("chance", k.Chance)
	want.Check("kappa", k.Estimate.Value)
	for j, p := range k.Share {
		want.Check(fmt.Sprintf("share_%d", j+1), p)
	}
}

// By hand: four subjects, two raters, three categories, of which 4, 3 and 1 of
// the 8 ratings are. Σpq = 19/32, one subject in four is disputed:
// κ = 1 − (1/4)/(19/32) = 11/19. Σpq(q−p) = 9/64, so that
// SE0² = 2(361−144)/(8·361) = 217/1444. Of the categories the share of unlike
// pairs is 0, 1/8, 1/8 over pq = 1/4, 15/64, 7/64.
func TestFleissKappaByHand(t *testing.T) {
	k, err := FleissKappa([][]int{{2, 0, 0}, {0, 2, 0}, {0, 1, 1}, {2, 0, 0}}, LimitOptions{})
	must(t, err)
	for _, one := range []struct{ got, want float64 }{
		{k.Estimate.Value, 11.0 / 19},
		{k.NullSE, math.Sqrt(217.0 / 1444)},
		{k.Observed, 0.75},
		{k.Chance, 13.0 / 32},
		{k.Category[0].Value, 1},
		{k.Category[1].Value, 7.0 / 15},
		{k.Category[2].Value, -1.0 / 7},
		{k.Category[0].SE, 0.5},
	} {
		if !near(one.got, one.want, 1e-14) {
			t.Errorf("got %v, want %v", one.got, one.want)
		}
	}
}

// plainFleiss is kappa of subjects with weights that sum to 1, written out.
func plainFleiss(counts [][]int, weight []float64) float64 {
	m := 0.0
	for _, c := range counts[0] {
		m += float64(c)
	}
	p := make([]float64, len(counts[0]))
	agree := 0.0
	for i, row := range counts {
		for j, c := range row {
			p[j] += weight[i] * float64(c) / m
			agree += weight[i] * float64(c) * float64(c-1) / (m * (m - 1))
		}
	}
	chance := 0.0
	for _, x := range p {
		chance += x * x
	}
	return (agree - chance) / (1 - chance)
}

// The standard error is that of the influence of each subject, here a numerical
// derivative of the plain formula in its weight: central differences of step
// 1e-5 have an error of 1e-9 or so.
func TestFleissKappaInfluence(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 71))
	for range 500 {
		counts := randomAgreement(r).Many
		n := len(counts)
		k, err := FleissKappa(counts, LimitOptions{})
		must(t, err)
		at := func(i int, step float64) float64 {
			weight := make([]float64, n)
			for j := range weight {
				weight[j] = (1 - step) / float64(n)
			}
			weight[i] += step
			return plainFleiss(counts, weight)
		}
		squares := 0.0
		for i := range n {
			u := (at(i, 1e-5) - at(i, -1e-5)) / 2e-5
			squares += u * u
		}
		if se := math.Sqrt(squares) / float64(n); !near(k.Estimate.SE, se, 1e-7) || !near(k.Estimate.Value, at(0, 0), 1e-12) {
			t.Errorf("kappa %v (error %v), plainly %v (%v)", k.Estimate.Value, k.Estimate.SE, at(0, 0), se)
		}
	}
}

// Where raters rate by chance the null error is the spread of kappa: 3000 runs
// know a spread to 1.3%, one standard error; four of them are allowed.
func TestFleissKappaNullSpread(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 79))
	const subjects, raters, runs = 150, 4, 3000
	var kappas, category []float64
	var null, nullOfOne float64
	for range runs {
		counts := make([][]int, subjects)
		for i := range counts {
			counts[i] = make([]int, 3)
			for range raters {
				u, c := r.Float64(), 0
				for _, edge := range []float64{0.6, 0.9} {
					if u > edge {
						c++
					}
				}
				counts[i][c]++
			}
		}
		k, err := FleissKappa(counts, LimitOptions{})
		must(t, err)
		kappas, category = append(kappas, k.Estimate.Value), append(category, k.Category[2].Value)
		null += k.NullSE / runs
		nullOfOne = k.Category[2].SE
	}
	_, spread := meanSD(kappas)
	_, spreadOfOne := meanSD(category)
	if math.Abs(null/spread-1) > 0.052 || math.Abs(nullOfOne/spreadOfOne-1) > 0.052 {
		t.Errorf("null errors %v and %v, spread %v and %v", null, nullOfOne, spread, spreadOfOne)
	}
}

func TestFleissKappaRefuses(t *testing.T) {
	for _, one := range []struct {
		counts [][]int
		want   error
	}{
		{nil, ErrTooFewRows},
		{[][]int{{3, 0}}, ErrTooFewRows},
		{[][]int{{1, 0}, {0, 1}}, ErrTooFewRows},
		{[][]int{{2, 0}, {0, 1}}, ErrUnequalRatings},
		{[][]int{{2, 0}, {2, 0}}, ErrNoVariance},
	} {
		if _, err := FleissKappa(one.counts, LimitOptions{}); !errors.Is(err, one.want) {
			t.Errorf("%v: error %v, want %v", one.counts, err, one.want)
		}
	}
	k, err := FleissKappa([][]int{{2, 0, 0}, {0, 2, 0}}, LimitOptions{})
	must(t, err)
	if !math.IsNaN(k.Estimate.Lower) || !warned(k.Estimate.Warnings, "limit-not-estimable") || !warned(k.Category[2].Warnings, "category-unused") {
		t.Errorf("perfect agreement: %+v", k)
	}
}
