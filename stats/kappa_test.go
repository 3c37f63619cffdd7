package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleKappa() {
	// Two raters put 200 cases into three categories.
	k, err := Kappa([][]int{{88, 14, 18}, {10, 40, 10}, {2, 6, 12}}, KappaOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("agreement %.2f, by chance %.2f, kappa %.3f\n", k.Observed, k.Chance, k.Estimate.Value)
	// Output: agreement 0.70, by chance 0.41, kappa 0.492
}

// columnsAsTable reads the columns of data.csv as rows of a table.
func columnsAsTable(want *published.Set, columns ...string) [][]int {
	var table [][]int
	for _, name := range columns {
		table = append(table, want.Ints(name))
	}
	return table
}

func TestKappaCohen(t *testing.T) {
	want := published.Load(t, "cohen-1960")
	k, err := Kappa(columnsAsTable(want, "first_a", "first_b", "first_c"), KappaOptions{})
	must(t, err)
	want.Check("observed", k.Observed)
	want.Check("chance", k.Chance)
	want.Check("kappa", k.Estimate.Value)
}

func TestKappaAgresti(t *testing.T) {
	want := published.Load(t, "agresti-winner-1997")
	table := transpose(columnsAsTable(want, "con", "mixed", "pro"))
	k, err := Kappa(table, KappaOptions{})
	must(t, err)
	want.Check("kappa", k.Estimate.Value)
	want.Check("se", k.Estimate.SE)
	k, err = Kappa(table, KappaOptions{Weights: LinearWeights})
	must(t, err)
	want.Check("kappa_linear", k.Estimate.Value)
}

// Of two by two every weighting is the same, and by hand: 40 10 / 20 30 has
// po = 7/10, pe = 1/2·3/5 + 1/2·2/5 = 1/2, κ = 2/5. The margins permit 9/10
// agreement, so κ at most 4/5. SE² = Σ p(w − (w̄+w̄)·3/5)² − (2/5 − 3/10)², over
// 100·1/4: w̄_i. is 3/5, 2/5 and w̄_.j is 1/2, 1/2, so that the terms are
// 4/10·(1 − 33/50)² + 1/10·(33/50)² + 2/10·(27/50)² + 3/10·(1 − 27/50)².
func TestKappaByHand(t *testing.T) {
	for _, w := range []KappaWeights{Unweighted, LinearWeights, QuadraticWeights} {
		k, err := Kappa([][]int{{40, 10}, {20, 30}}, KappaOptions{Weights: w})
		must(t, err)
		sum := 0.4*0.34*0.34 + 0.1*0.66*0.66 + 0.2*0.54*0.54 + 0.3*0.46*0.46 - 0.01
		null := (0.3*0.1*0.1 + 0.2*1.1*1.1 + 0.3*0.9*0.9 + 0.2*0.1*0.1) - 0.25
		for _, one := range []struct{ got, want float64 }{
			{k.Observed, 0.7},
			{k.Chance, 0.5},
			{k.Estimate.Value, 0.4},
			{k.Largest, 0.8},
			{k.Estimate.SE, math.Sqrt(sum / 25)},
			{k.NullSE, math.Sqrt(null / 25)},
			{k.Estimate.Lower, 0.4 - criticalZ(0.95)*math.Sqrt(sum/25)},
		} {
			if !near(one.got, one.want, 1e-14) {
				t.Errorf("%v: got %v, want %v", w, one.got, one.want)
			}
		}
	}
}

// The largest kappa is found among all tables with the same margins.
func TestLargestKappaOfAllTables(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	for range 40 {
		table := randomTable(r, 3, 3, 4)
		rows, columns, _ := margins(table)
		for _, w := range []KappaWeights{Unweighted, LinearWeights, QuadraticWeights} {
			k, err := Kappa(table, KappaOptions{Weights: w})
			must(t, err)
			best := math.Inf(-1)
			for a := range rows[0] + 1 {
				for b := range rows[0] + 1 - a {
					for c := range rows[1] + 1 {
						for d := range rows[1] + 1 - c {
							other := [][]int{{a, b, rows[0] - a - b}, {c, d, rows[1] - c - d}, {columns[0] - a - c, columns[1] - b - d, 0}}
							other[2][2] = rows[2] - other[2][0] - other[2][1]
							if other[2][0] < 0 || other[2][1] < 0 || other[2][2] < 0 {
								continue
							}
							o, err := Kappa(other, KappaOptions{Weights: w})
							must(t, err)
							best = math.Max(best, o.Estimate.Value)
						}
					}
				}
			}
			if !near(k.Largest, best, 1e-12) {
				t.Errorf("%v of %v: largest %v, among all tables %v", w, table, k.Largest, best)
			}
		}
	}
}

// Exchanging the raters and reversing the categories change nothing.
func TestKappaProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 200 {
		table := randomTable(r, 4, 4, 30)
		var reversed [][]int
		for i := 3; i >= 0; i-- {
			row := table[i]
			reversed = append(reversed, []int{row[3], row[2], row[1], row[0]})
		}
		for _, w := range []KappaWeights{Unweighted, LinearWeights, QuadraticWeights} {
			a, err := Kappa(table, KappaOptions{Weights: w})
			must(t, err)
			for _, other := range [][][]int{transpose(table), reversed} {
				b, err := Kappa(other, KappaOptions{Weights: w})
				must(t, err)
				if !near(a.Estimate.Value, b.Estimate.Value, 1e-13) || !near(a.Estimate.SE, b.Estimate.SE, 1e-13) || !near(a.Largest, b.Largest, 1e-13) {
					t.Errorf("%v of %v: %+v, of the same turned %+v", w, table, a, b)
				}
			}
		}
	}
}

func TestKappaEdges(t *testing.T) {
	if _, err := Kappa([][]int{{0, 0}, {0, 0}}, KappaOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("empty table: %v", err)
	}
	if _, err := Kappa([][]int{{7, 0}, {0, 0}}, KappaOptions{}); !errors.Is(err, ErrNoVariance) {
		t.Errorf("one category: %v", err)
	}
	perfect, err := Kappa([][]int{{7, 0, 0}, {0, 3, 0}, {0, 0, 11}}, KappaOptions{})
	must(t, err)
	if e := perfect.Estimate; e.Value != 1 || !math.IsNaN(e.Lower) || !math.IsNaN(e.Upper) || !warned(e.Warnings, "limit-not-estimable") || !(e.P < 1e-6) {
		t.Errorf("perfect agreement: %+v", e)
	}
	// One rater always says the same: agreement is that of chance.
	one, err := Kappa([][]int{{7, 4}, {0, 0}}, KappaOptions{})
	must(t, err)
	if e := one.Estimate; math.Abs(e.Value) > 1e-15 || !math.IsNaN(e.P) || !math.IsNaN(e.Lower) || !math.IsNaN(one.Z) {
		t.Errorf("a rater of one category: %+v", one)
	}
	high, err := Kappa([][]int{{30, 1}, {0, 3}}, KappaOptions{})
	must(t, err)
	if high.Estimate.Upper != 1 {
		t.Errorf("upper limit %v, want 1", high.Estimate.Upper)
	}
	panics(t, "same categories in both", func() { _, _ = Kappa([][]int{{1, 2, 3}, {1, 2, 3}}, KappaOptions{}) })
	panics(t, "unknown KappaWeights 9", func() { _, _ = Kappa([][]int{{1, 2}, {1, 2}}, KappaOptions{Weights: 9}) })
	panics(t, "symmetric", func() { _, _ = Kappa([][]int{{1, 2}, {1, 2}}, KappaOptions{Own: [][]float64{{1, 0.5}, {0.4, 1}}}) })
}
