package stats

import (
	"errors"
	"fmt"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleChiSquare() {
	// Episode yes or no, by arch type.
	test, err := ChiSquare([][]int{{12, 40}, {30, 95}, {15, 20}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f on %.0f degrees of freedom, p = %.3f\n", test.Statistic, test.DF, test.P)
	// Output: 5.45 on 2 degrees of freedom, p = 0.065
}

func TestChiSquareAgresti(t *testing.T) {
	want := published.Load(t, "agresti-2007")
	var table [][]int
	for i, d := range want.Ints("democrat") {
		table = append(table, []int{d, want.Ints("independent")[i], want.Ints("republican")[i]})
	}
	test, err := ChiSquare(table)
	must(t, err)
	want.Check("pearson", test.Statistic)
	want.Check("df", test.DF)
	rows, columns, total := margins(table)
	want.Check("expected_11", expectedCounts(rows, columns, total)[0][0])
	g, err := LikelihoodRatio(table)
	must(t, err)
	want.Check("deviance", g.Statistic)
	residuals, err := StandardisedResiduals(table)
	must(t, err)
	want.Check("stdres_11", residuals[0][0])
	want.Check("stdres_13", residuals[0][2])
}

// By hand: 10 20 / 20 10 has 60 (100−400)²/30⁴ = 20/3 on one degree of freedom.
// On two, the tail is exp(−x/2): 6 0 0 / 0 3 3 has expected counts 3 1.5 1.5
// in both rows and statistic 2 (9/3 + 1.5 + 1.5) = 12.
func TestChiSquareByHand(t *testing.T) {
	test, err := ChiSquare([][]int{{10, 20}, {20, 10}})
	must(t, err)
	if !near(test.Statistic, 20.0/3, 1e-14) || test.DF != 1 || !near(test.P, twoSidedNormalP(2.581988897471611), 1e-13) || test.Warnings != nil {
		t.Errorf("got %+v, want 20/3 on 1 degree of freedom", test)
	}
	test, err = ChiSquare([][]int{{6, 0, 0}, {0, 3, 3}})
	must(t, err)
	if !near(test.Statistic, 12, 1e-14) || test.DF != 2 || !near(test.P, 0.0024787521766663585, 1e-15) {
		t.Errorf("got %+v, want 12 on 2 degrees of freedom", test)
	}
	if len(test.Warnings) != 1 || test.Warnings[0].Text != "6 of 6 cells have an expected count below 5, the smallest 1.5: the chi-square approximation is doubtful." {
		t.Errorf("warnings %v", test.Warnings)
	}
}

func TestChiSquareRefuses(t *testing.T) {
	for _, c := range []struct {
		table [][]int
		want  error
	}{
		{nil, ErrNoData},
		{[][]int{{0, 0}, {0, 0}}, ErrNoData},
		{[][]int{{1, 2}}, ErrNoVariance},
		{[][]int{{1}, {2}}, ErrNoVariance},
		{[][]int{{1, 0}, {2, 0}}, ErrNoVariance},
		{[][]int{{0, 0}, {2, 1}}, ErrNoVariance},
	} {
		if _, err := ChiSquare(c.table); !errors.Is(err, c.want) {
			t.Errorf("%v: error %v, want %v", c.table, err, c.want)
		}
	}
	panics(t, "row 1 of the table has 1 counts, expected 2", func() { _, _ = ChiSquare([][]int{{1, 2}, {3}}) })
	panics(t, "count -1", func() { _, _ = ChiSquare([][]int{{1, 2}, {3, -1}}) })
}
