package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

func ExampleClusterProportion() {
	// Heels that improved, of four children; the last has one heel.
	had := []bool{true, true, true, false, false, false, false}
	e, err := ClusterProportion(had, []int{1, 1, 2, 2, 3, 3, 4}, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
	// Output: 0.43 (0.09 to 0.85)
}

// onScore reports whether a limit x of a share p of n is on the curve that
// Wilson's limits solve, (p−x)² = z² x(1−x)/n.
func onScore(p, x, n, z float64) bool { return near((p-x)*(p-x), z*z*x*(1-x)/n, 1e-12) }

// By hand: heels of five children, 1 1, 1 0, 0 0, 0 0 and 0. The share is 1/3,
// the sums of the deviations are 4/3, 1/3, −2/3, −2/3 and −1/3, so that
// V = 5/4 · (26/9)/81 = 65/1458; p(1−p)/(n−1) = 1/36, the design effect 130/81.
// Student's quantiles on 8 and 4 degrees of freedom are from a printed table.
func TestClusterProportionByHand(t *testing.T) {
	had := []bool{true, true, true, false, false, false, false, false, false}
	e, err := ClusterProportion(had, []int{1, 1, 2, 2, 3, 3, 4, 4, 5}, 0)
	must(t, err)
	const t8, t4, z = 2.306004, 2.776445, 1.959963984540054
	size := 9 * 81.0 / 130 * (t8 / t4) * (t8 / t4)
	if !near(e.Value, 1.0/3, 1e-15) || !near(e.SE, math.Sqrt(65.0/1458), 1e-12) {
		t.Errorf("share %v, error %v", e.Value, e.SE)
	}
	for _, x := range []float64{e.Lower, e.Upper} {
		// Six decimals of the quantiles: 1e-6 of either side.
		if left, right := (e.Value-x)*(e.Value-x), z*z*x*(1-x)/size; !nearRelative(left, right, 2e-6) {
			t.Errorf("limit %v: %v is not %v", x, left, right)
		}
	}
	if !(e.Lower < e.Value && e.Value < e.Upper) {
		t.Errorf("limits %v to %v", e.Lower, e.Upper)
	}
	// All heels, or none: as many rows as there are children.
	for _, yes := range []bool{false, true} {
		e, err := ClusterProportion([]bool{yes, yes, yes, yes, yes, yes}, []int{1, 1, 2, 2, 3, 3}, 0)
		must(t, err)
		events := 0
		if yes {
			events = 3
		}
		want, err := Proportion(events, 3, ProportionOptions{})
		must(t, err)
		if !near(e.Lower, want.Lower, 1e-12) || !near(e.Upper, want.Upper, 1e-12) || !math.IsNaN(e.SE) {
			t.Errorf("%+v, want the limits of %+v", e, want)
		}
	}
	// One heel of every child: the children are all alike, and heels count as they
	// are, not as more.
	half, err := ClusterProportion([]bool{true, false, true, false, true, false}, []int{1, 1, 2, 2, 3, 3}, 0)
	must(t, err)
	if !onScore(0.5, half.Lower, 6, z) || !onScore(0.5, half.Upper, 6, z) {
		t.Errorf("%+v, want an effective size of 6", half)
	}
}

// Where every row is a cluster of its own, shares are Wilson's and differences
// Newcombe's; where the pairs of one child have one exposed row each, they are
// Newcombe's of pairs, as long as those have no correction.
func TestClusterProportionOfSingles(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 2))
	pairs := 0
	for range 400 {
		n := 4 + r.IntN(20)
		var had, exposed []bool
		var pair []int
		counts := [2][2]int{}
		var p PairTable
		for i := range n {
			one, zero := r.IntN(3) == 0, r.IntN(2) == 0
			had, exposed, pair = append(had, one, zero), append(exposed, true, false), append(pair, i, i)
			for side, yes := range []bool{zero, one} {
				if yes {
					counts[side][0]++
				} else {
					counts[side][1]++
				}
			}
			switch {
			case one && zero:
				p.Both++
			case one:
				p.First++
			case zero:
				p.Second++
			default:
				p.Neither++
			}
		}
		want, err := RiskDifference(counts[1][0], counts[1][1], counts[0][0], counts[0][1], LimitOptions{Level: 0.9})
		must(t, err)
		got, err := ClusterRiskDifference(had, exposed, nil, 0.9)
		must(t, err)
		sameLimits(t, "of singles", got, want)
		plain, err := Proportion(counts[1][0], n, ProportionOptions{Level: 0.9})
		must(t, err)
		var own []bool
		for i, yes := range had {
			if exposed[i] {
				own = append(own, yes)
			}
		}
		share, err := ClusterProportion(own, nil, 0.9)
		must(t, err)
		sameLimits(t, "share", share, plain)
		if p.Both*p.Neither > p.First*p.Second {
			continue
		}
		pairs++
		want, err = PairedDifference(p, PairedDifferenceOptions{Level: 0.9, Method: PairedNewcombe})
		must(t, err)
		got, err = ClusterRiskDifference(had, exposed, pair, 0.9)
		must(t, err)
		sameLimits(t, "of pairs", got, want)
	}
	if pairs < 50 {
		t.Errorf("%d tables of pairs compared", pairs)
	}
}

func sameLimits(t *testing.T, what string, got, want Estimate) {
	t.Helper()
	if !near(got.Value, want.Value, 1e-10) || !near(got.Lower, want.Lower, 1e-10) || !near(got.Upper, want.Upper, 1e-10) {
		t.Errorf("%s: %v (%v to %v), want %v (%v to %v)", what, got.Value, got.Lower, got.Upper, want.Value, want.Lower, want.Upper)
	}
}

// TestClusterProportionCovers draws children with two heels that agree more
// often than chance: limits of 0.95 that take heels for independent hold the
// share less often than those by child. Of 4,000 draws an error of 0.0035.
func TestClusterProportionCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 12))
	const draws, children, truth = 4000, 25, 0.3
	held, naive := 0, 0
	for range draws {
		var had []bool
		var child []int
		events := 0
		for c := range children {
			first := r.Float64() < truth
			second := first
			if r.Float64() > 0.7 {
				second = r.Float64() < truth
			}
			for _, yes := range []bool{first, second} {
				had, child = append(had, yes), append(child, c)
				if yes {
					events++
				}
			}
		}
		e, err := ClusterProportion(had, child, 0)
		must(t, err)
		if e.Lower <= truth && truth <= e.Upper {
			held++
		}
		e, err = Proportion(events, len(had), ProportionOptions{})
		must(t, err)
		if e.Lower <= truth && truth <= e.Upper {
			naive++
		}
	}
	t.Logf("coverage by child %.3f, by heel %.3f", float64(held)/draws, float64(naive)/draws)
	if by, plain := float64(held)/draws, float64(naive)/draws; by < 0.94 || by > 0.98 || plain > 0.90 {
		t.Errorf("coverage by child %v, by heel %v", by, plain)
	}
}

func TestClusterProportionRefuses(t *testing.T) {
	if _, err := ClusterProportion(nil, nil, 0); !errors.Is(err, ErrNoData) {
		t.Errorf("no rows: %v", err)
	}
	e, err := ClusterProportion([]bool{true, false}, []int{1, 1}, 0)
	must(t, err)
	if !math.IsNaN(e.Lower) || len(e.Warnings) != 1 || e.Warnings[0].Code != "one-cluster" {
		t.Errorf("one cluster: %+v", e)
	}
	for _, exposed := range [][]bool{{true, true}, {false, false}} {
		if _, err := ClusterRiskDifference([]bool{true, false}, exposed, nil, 0); !errors.Is(err, ErrNoData) {
			t.Errorf("one side: %v", err)
		}
	}
	panics(t, "2 rows, 1 exposures", func() { _, _ = ClusterRiskDifference([]bool{true, false}, []bool{true}, nil, 0) })
}

// A combination that picks one coefficient is that coefficient; one of two is
// made from their covariance.
func TestCombination(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 61))
	c := randomGEE(r, GEEGaussian)
	for _, student := range []bool{false, true} {
		f, err := FitGEE(c.X, []string{"group", "z"}, c.Y, nil, GEEOptions{Family: GEEGaussian, Cluster: c.Cluster, StudentT: student})
		must(t, err)
		one, want := f.Combination("z", []float64{0, 0, 1}, 0.9), f.Coefficient(2, 0.9)
		if !near(one.Lower, want.Lower, 1e-12) || !near(one.P, want.P, 1e-12) || !near(one.SE, want.SE, 1e-12) {
			t.Errorf("%+v, want %+v", one, want)
		}
		two := f.Combination("", []float64{0, 2, -1}, 0)
		variance := 4*f.Covariance[1][1] + f.Covariance[2][2] - 4*f.Covariance[1][2]
		if !near(two.Value, 2*f.Coefficients[1]-f.Coefficients[2], 1e-12) || !near(two.SE, math.Sqrt(variance), 1e-12) {
			t.Errorf("%+v, variance %v", two, variance)
		}
		panics(t, "a combination of 2", func() { f.Combination("", []float64{1, 2}, 0) })
	}
}
