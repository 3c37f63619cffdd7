package stats

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

func ExampleLikelihoodRatio() {
	test, err := LikelihoodRatio([][]int{{12, 40}, {30, 95}, {15, 20}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f on %.0f degrees of freedom, p = %.3f\n", test.Statistic, test.DF, test.P)
	// Output: 5.07 on 2 degrees of freedom, p = 0.079
}

// By hand: 10 20 / 20 10 has expected counts of 15; of 6 0 / 0 6 every person
// adds 2 log 2; a table as expected has nothing. The residuals of the first are
// ±5/sqrt(15/4).
func TestLikelihoodRatioByHand(t *testing.T) {
	for _, c := range []struct {
		table [][]int
		want  float64
	}{
		{[][]int{{10, 20}, {20, 10}}, 40*math.Log(2.0/3) + 80*math.Log(4.0/3)},
		{[][]int{{6, 0}, {0, 6}}, 24 * math.Log(2)},
		{[][]int{{1, 2}, {2, 4}}, 0},
	} {
		test, err := LikelihoodRatio(c.table)
		must(t, err)
		if !near(test.Statistic, c.want, 1e-13) || test.DF != 1 || !near(test.P, math.Erfc(math.Sqrt(c.want/2)), 1e-12) {
			t.Errorf("%v: %+v, want %v", c.table, test, c.want)
		}
	}
	residuals, err := StandardisedResiduals([][]int{{10, 20}, {20, 10}})
	must(t, err)
	for i, row := range residuals {
		for j, got := range row {
			if want := 5 / math.Sqrt(15.0/4); !near(got, want, 1e-14) && i != j || !near(got, -want, 1e-14) && i == j {
				t.Errorf("residual %d, %d is %v", i, j, got)
			}
		}
	}
}

func TestLikelihoodRatioRefuses(t *testing.T) {
	for _, c := range []struct {
		table [][]int
		want  error
	}{
		{nil, ErrNoData},
		{[][]int{{0, 0}, {0, 0}}, ErrNoData},
		{[][]int{{1, 2, 3}}, ErrNoVariance},
		{[][]int{{1, 0}, {2, 0}}, ErrNoVariance},
	} {
		if _, err := LikelihoodRatio(c.table); !errors.Is(err, c.want) {
			t.Errorf("G² of %v: error %v, want %v", c.table, err, c.want)
		}
		if _, err := StandardisedResiduals(c.table); !errors.Is(err, c.want) {
			t.Errorf("residuals of %v: error %v, want %v", c.table, err, c.want)
		}
	}
}
