package stats

import (
	"errors"
	"fmt"
	"testing"
)

func ExampleCompareLevels() {
	// Episode yes or no, by arch: normal, flat, high.
	levels, err := CompareLevels([][]int{{30, 95}, {12, 40}, {15, 20}}, 0, RiskRatio, LevelOptions{Measure: "prevalence ratio"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, l := range levels {
		fmt.Printf("row %d: %s %.2f (%.2f to %.2f)\n", l.Row, l.Estimate.Measure, l.Estimate.Value, l.Estimate.Lower, l.Estimate.Upper)
	}
	// Output:
	// row 1: prevalence ratio 0.96 (0.54 to 1.73)
	// row 2: prevalence ratio 1.79 (1.09 to 2.93)
}

// Every row is compared as by the measure itself; one without an estimate does
// not take the others with it.
func TestCompareLevels(t *testing.T) {
	table := [][]int{{3, 4}, {0, 0}, {0, 9}, {5, 7}}
	for _, measure := range []TwoByTwoMeasure{OddsRatio, OddsRatioExact, OddsRatioMidP, OddsRatioScore, RiskRatio, RiskRatioScore, RiskDifference, RiskDifferenceScore} {
		levels, err := CompareLevels(table, 3, measure, LevelOptions{Level: 0.9})
		must(t, err)
		if len(levels) != 3 {
			t.Fatalf("%d levels of %v", len(levels), table)
		}
		for i, l := range levels {
			want, err := measure(table[i][0], table[i][1], 5, 7, LimitOptions{0.9})
			if l.Row != i || (l.Err == nil) != (err == nil) || l.Estimate.Value != want.Value || l.Estimate.Lower != want.Lower || l.Estimate.Measure != want.Measure {
				t.Errorf("row %d: %+v, want %+v, %v", i, l, want, err)
			}
		}
		if !errors.Is(levels[1].Err, ErrNoData) {
			t.Errorf("an empty row: %v", levels[1].Err)
		}
	}
	if levels, err := CompareLevels(table, 3, OddsRatio, LevelOptions{}); err != nil || !errors.Is(levels[2].Err, ErrZeroCell) {
		t.Errorf("a zero cell: %v, %v", levels, err)
	}
	for _, c := range []struct {
		table     [][]int
		reference int
		want      error
	}{{nil, 0, ErrNoVariance}, {[][]int{{1, 2}}, 0, ErrNoVariance}, {[][]int{{1, 2}, {0, 0}}, 1, ErrNoData}} {
		if _, err := CompareLevels(c.table, c.reference, OddsRatio, LevelOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%v: error %v, want %v", c.table, err, c.want)
		}
	}
	panics(t, "reference row 2 of 2", func() { _, _ = CompareLevels([][]int{{1, 2}, {1, 2}}, 2, OddsRatio, LevelOptions{}) })
	panics(t, "3 counts in a row", func() { _, _ = CompareLevels([][]int{{1, 2, 3}, {1, 2, 3}}, 0, OddsRatio, LevelOptions{}) })
}
