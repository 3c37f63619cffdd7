package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func ExampleAgreement() {
	a, err := Agreement([][]int{{40, 10}, {20, 30}}, LimitOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f overall, %.3f positive, %.3f negative\n", a.Overall.Value, a.Specific[0].Value, a.Specific[1].Value)
	// Output: 0.70 overall, 0.727 positive, 0.667 negative
}

// By hand: of 40 10 / 20 30 the positive agreement is 80/110, the negative one
// 60/90, prevalence 10/100, bias 10/100.
func TestAgreementByHand(t *testing.T) {
	a, err := Agreement([][]int{{40, 10}, {20, 30}}, LimitOptions{})
	must(t, err)
	for _, one := range []struct{ got, want float64 }{
		{a.Overall.Value, 0.7}, {a.Specific[0].Value, 8.0 / 11}, {a.Specific[1].Value, 2.0 / 3}, {a.Prevalence, 0.1}, {a.Bias, 0.1},
	} {
		if !near(one.got, one.want, 1e-14) {
			t.Errorf("got %v, want %v", one.got, one.want)
		}
	}
	three, err := Agreement([][]int{{4, 1, 0}, {2, 3, 0}, {0, 0, 0}}, LimitOptions{})
	must(t, err)
	if !math.IsNaN(three.Prevalence) || !math.IsNaN(three.Specific[2].Value) || !warned(three.Specific[2].Warnings, "category-unused") {
		t.Errorf("a category that nobody uses: %+v", three)
	}
	if _, err := Agreement([][]int{{0, 0}, {0, 0}}, LimitOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("empty table: %v", err)
	}
}

// The limits cover the true value about as often as they say.
func TestSpecificAgreementCoverage(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 1))
	p := []float64{0.3, 0.45, 0.57, 1} // cumulated: a, b, c, d
	want := 2 * 0.3 / (2*0.3 + 0.15 + 0.12)
	const runs = 4000
	covered := 0
	for range runs {
		table := [][]int{{0, 0}, {0, 0}}
		for range 60 {
			u, cell := r.Float64(), 0
			for u > p[cell] {
				cell++
			}
			table[cell/2][cell%2]++
		}
		a, err := Agreement(table, LimitOptions{})
		must(t, err)
		if a.Specific[0].Lower <= want && want <= a.Specific[0].Upper {
			covered++
		}
	}
	// Wilson's coverage of a share of 34 or so is within 0.02 of its level;
	// four standard errors of the simulation are 0.014.
	if share := float64(covered) / runs; math.Abs(share-0.95) > 0.034 {
		t.Errorf("covered %v of the time", share)
	}
}
