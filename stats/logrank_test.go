package stats

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

func TestLogRankByHand(t *testing.T) {
	// The rows of lateRows: at 4 one event among 4, of which 2 in group 0; at 6
	// two among 5, of which 2; at 9 one among 2, of which 1.
	r, err := LogRank(lateRows, []int{0, 1, 1, 0, 1, 1, 0}, 2, LogRankOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(r.N, []int{3, 4}) || !slices.Equal(r.Observed, []float64{2, 2}) || r.Strata != 1 {
		t.Errorf("counts %+v", r)
	}
	exactly(t, "expected 0", r.Expected[0], 1.0/2+4.0/5+1.0/2)
	exactly(t, "expected 1", r.Expected[1], 1.0/2+6.0/5+1.0/2)
	exactly(t, "variance", r.Variance[0][0], 1.0/4+9.0/25+1.0/4)
	exactly(t, "covariance", r.Variance[0][1], -43.0/50)
	exactly(t, "statistic", r.Test.Statistic, 2.0/43)
	if r.Test.DF != 1 || !hasWarning(r.Test.Warnings, "small-expected") {
		t.Errorf("test %+v", r.Test)
	}
}

// With all times tied in one stratum a log-rank test is one 2 by 2 table: the
// Cochran-Mantel-Haenszel statistic of 3 events of 10 against 7 of 10 is
// (N-1)(ad-bc)² over the product of the margins.
func TestLogRankOneTable(t *testing.T) {
	var rows Times
	var group []int
	for i := range 20 {
		rows.Exit = append(rows.Exit, 1)
		rows.Status = append(rows.Status, i < 3 || i >= 13)
		group = append(group, i/10)
	}
	r, err := LogRank(rows, group, 2, LogRankOptions{})
	if err != nil {
		t.Fatal(err)
	}
	// a d - b c = 3·3 - 7·7 = -40.
	exactly(t, "statistic", r.Test.Statistic, 19.0*40*40/(10*10*10*10))
}

func TestLogRankStrataByHand(t *testing.T) {
	// Two strata hold the same rows: sums double, and so does the statistic.
	rows := Times{
		Entry:  slices.Concat(lateRows.Entry, lateRows.Entry),
		Exit:   slices.Concat(lateRows.Exit, lateRows.Exit),
		Status: slices.Concat(lateRows.Status, lateRows.Status),
	}
	group := []int{0, 1, 1, 0, 1, 1, 0, 0, 1, 1, 0, 1, 1, 0}
	strata := []int{9, 9, 9, 9, 9, 9, 9, -4, -4, -4, -4, -4, -4, -4}
	r, err := LogRank(rows, group, 2, LogRankOptions{Strata: strata})
	if err != nil {
		t.Fatal(err)
	}
	exactly(t, "expected", r.Expected[0], 18.0/5)
	exactly(t, "variance", r.Variance[1][1], 43.0/25)
	exactly(t, "statistic", r.Test.Statistic, 4.0/43)
	if r.Strata != 2 || r.Test.Name != "stratified log-rank test" {
		t.Errorf("%+v", r)
	}
}

func TestLogRankRefused(t *testing.T) {
	yes := []bool{true, true, true, true}
	for _, c := range []struct {
		name  string
		rows  Times
		group []int
		want  error
		text  string
	}{
		{"no event", Times{Exit: []float64{1, 2, 3, 4}, Status: make([]bool, 4)}, []int{0, 1, 0, 1}, ErrNoEvents, "4 rows"},
		{"one group", Times{Exit: []float64{1, 2, 3, 4}, Status: yes}, []int{1, 1, 1, 1}, ErrNoVariance, "rows in 1 of 3 groups"},
		{"never together", Times{Entry: []float64{0, 0, 5, 5}, Exit: []float64{1, 2, 6, 7}, Status: yes}, []int{0, 0, 1, 1}, ErrNoVariance, "at risk together"},
		{"everybody at once", Times{Exit: []float64{3, 3, 3, 3}, Status: yes}, []int{0, 1, 0, 1}, ErrNoVariance, "at risk together"},
	} {
		_, err := LogRank(c.rows, c.group, 3, LogRankOptions{})
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: %v, want %v with %q", c.name, err, c.want, c.text)
		}
	}
	// Groups 1 and 2 meet each other, and so do 3 and 4, but not the pairs.
	apart := Times{
		Entry:  []float64{0, 0, 0, 0, 5, 5, 5, 5},
		Exit:   []float64{1, 2, 3, 3, 6, 7, 8, 8},
		Status: []bool{true, true, true, false, true, true, true, false},
	}
	_, err := LogRank(apart, []int{0, 1, 0, 1, 2, 3, 2, 3}, 4, LogRankOptions{})
	if !errors.Is(err, ErrNoVariance) || !strings.Contains(err.Error(), "fall apart") {
		t.Errorf("groups in two worlds: %v", err)
	}
}

func TestLogRankGroupNotCompared(t *testing.T) {
	// Group 3 enters when the others have gone, group 4 has no rows: the test
	// is that of groups 1 and 2.
	rows := Times{
		Entry:  []float64{0, 0, 0, 0, 8, 8},
		Exit:   []float64{1, 2, 3, 4, 9, 10},
		Status: []bool{true, true, false, true, true, true},
	}
	r, err := LogRank(rows, []int{0, 1, 0, 1, 2, 2}, 4, LogRankOptions{})
	if err != nil {
		t.Fatal(err)
	}
	two, err := LogRank(Times{Entry: rows.Entry[:4], Exit: rows.Exit[:4], Status: rows.Status[:4]}, []int{0, 1, 0, 1}, 2, LogRankOptions{})
	if err != nil {
		t.Fatal(err)
	}
	exactly(t, "statistic", r.Test.Statistic, two.Test.Statistic)
	if r.Test.DF != 1 || !hasWarning(r.Test.Warnings, "group-not-compared") {
		t.Errorf("test %+v", r.Test)
	}
	if r.Observed[2] != 2 || r.Expected[2] != 2 || r.N[3] != 0 {
		t.Errorf("sums %+v", r)
	}
}
