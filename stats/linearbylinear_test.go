package stats

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"testing"
)

func ExampleLinearByLinear() {
	// Pain none, some, strong, by footwear soft, medium, hard.
	test, err := LinearByLinear([][]int{{20, 8, 2}, {15, 12, 6}, {9, 14, 11}}, []float64{0, 1, 2}, []float64{0, 1, 2})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f on %.0f degree of freedom\n", test.Statistic, test.DF)
	// Output: 11.76 on 1 degree of freedom
}

// Two by two strata: both generalisations are the Cochran-Mantel-Haenszel test.
// One stratum: the general test is (N−1)/N of Pearson's chi-square.
func TestGeneralAssociationReduces(t *testing.T) {
	r := rand.New(rand.NewPCG(65, 111))
	for range 300 {
		var strata [][][]int
		var four []TableStratum
		for range 1 + r.IntN(4) {
			f := randomTable(r, 2, 2, 15)
			strata = append(strata, f)
			four = append(four, TableStratum{f[0][0], f[0][1], f[1][0], f[1][1]})
		}
		want, err := CochranMantelHaenszel(four, CMHOptions{})
		must(t, err)
		general, err := GeneralCochranMantelHaenszel(strata)
		must(t, err)
		linear, err := StratifiedLinearByLinear(strata, []float64{1, 5}, []float64{7, 3})
		must(t, err)
		if !near(general.Statistic, want.Statistic, 1e-10) || !near(linear.Statistic, want.Statistic, 1e-10) || general.DF != 1 {
			t.Errorf("%v: general %v, linear %v, want %v", strata, general.Statistic, linear.Statistic, want.Statistic)
		}
		wide := randomTable(r, 3, 4, 15)
		_, _, n := margins(wide)
		chi, err := ChiSquare(wide)
		must(t, err)
		general, err = GeneralCochranMantelHaenszel([][][]int{wide})
		must(t, err)
		if !near(general.Statistic, chi.Statistic*float64(n-1)/float64(n), 1e-10) || general.DF != chi.DF {
			t.Errorf("%v: general %+v, Pearson %+v", wide, general, chi)
		}
	}
}

func TestGeneralAssociationRefuses(t *testing.T) {
	score := []float64{0, 1, 2}
	for _, c := range []struct {
		name            string
		strata          [][][]int
		general, linear error
		warning         bool
	}{
		{"nobody", [][][]int{{{0, 0, 0}, {0, 0, 0}, {0, 0, 0}}}, ErrNoData, ErrNoData, false},
		{"one row", [][][]int{{{1, 2, 3}, {0, 0, 0}, {0, 0, 0}}}, ErrNoVariance, ErrNoVariance, false},
		{"one column", [][][]int{{{1, 0, 0}, {2, 0, 0}, {3, 0, 0}}}, ErrNoVariance, ErrNoVariance, false},
		{"a row a stratum", [][][]int{{{1, 2, 3}, {0, 0, 0}, {0, 0, 0}}, {{0, 0, 0}, {3, 2, 2}, {0, 0, 0}}}, ErrNoVariance, ErrNoVariance, false},
		{"an empty stratum", [][][]int{{{1, 2, 3}, {3, 2, 2}, {1, 1, 0}}, {{0, 0, 0}, {3, 2, 2}, {0, 0, 0}}}, nil, nil, true},
		{"an empty row", [][][]int{{{1, 2, 3}, {3, 2, 2}, {0, 0, 0}}}, nil, nil, false},
		{"parts", [][][]int{{{1, 2, 0}, {3, 2, 0}, {0, 0, 0}}, {{0, 0, 0}, {0, 0, 3}, {0, 0, 4}}}, ErrNoVariance, nil, true},
	} {
		general, err := GeneralCochranMantelHaenszel(c.strata)
		if !errors.Is(err, c.general) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.general)
		}
		if err == nil && warned(general.Warnings, "empty-margin-strata") != c.warning {
			t.Errorf("%s: warnings %v", c.name, general.Warnings)
		}
		linear, err := StratifiedLinearByLinear(c.strata, score, score)
		if !errors.Is(err, c.linear) {
			t.Errorf("%s, linear: error %v, want %v", c.name, err, c.linear)
		}
		if err == nil && warned(linear.Warnings, "empty-margin-strata") != c.warning {
			t.Errorf("%s, linear: warnings %v", c.name, linear.Warnings)
		}
	}
	panics(t, "2 and 3 scores", func() { _, _ = LinearByLinear([][]int{{1, 2, 3}, {1, 2, 3}, {1, 2, 3}}, score[:2], score) })
}
