package stats

import (
	"math/rand/v2"
	"testing"
)

// A recurrenceCase is what recurrence.R reads.
type recurrenceCase struct {
	Child  []int     `json:"child"`
	Group  []int     `json:"group"`
	Entry  []float64 `json:"entry"`
	Exit   []float64 `json:"exit"`
	Status []bool    `json:"status"`
}

type recurrenceOutput struct {
	Version []string
	Cases   []struct {
		Time, Count, SE []number
		AtRisk          []int `json:"at_risk"`
		Events          []int
		Test            []number
		DF              []int
	}
}

// randomRecurrence draws children with several spells under observation, gaps
// between them, late entries and heavy ties.
func randomRecurrence(r *rand.Rand) recurrenceCase {
	c := recurrenceCase{}
	k := 2 + r.IntN(2)
	for child := range 4*k + r.IntN(30) {
		at := r.IntN(4)
		for range 1 + r.IntN(5) {
			at += r.IntN(2) * r.IntN(3)
			exit := at + 1 + r.IntN(8)
			c.Child, c.Group = append(c.Child, child+10), append(c.Group, child%k)
			c.Entry, c.Exit = append(c.Entry, float64(at)), append(c.Exit, float64(exit))
			c.Status = append(c.Status, r.IntN(2) == 0)
			at = exit
		}
	}
	for i := range k { // an event in each group
		for j, g := range c.Group {
			if g == i {
				c.Status[j] = true
				break
			}
		}
	}
	return c
}

func TestRecurrenceAgainstStoredR(t *testing.T) {
	var cases []recurrenceCase
	var out recurrenceOutput
	storedCrosscheck(t, "recurrence", &cases, &out)
	compareRecurrence(t, cases, out)
}

func TestRecurrenceAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(20, 9))
	var cases []recurrenceCase
	for range 500 {
		cases = append(cases, randomRecurrence(r))
	}
	var out recurrenceOutput
	crosscheck(t, "recurrence.R", cases, &out)
	compareRecurrence(t, cases, out)
}

// Closed forms: 1e-8, relatively.
func compareRecurrence(t *testing.T, cases []recurrenceCase, out recurrenceOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	for i, c := range cases {
		want := out.Cases[i]
		times := Times{c.Entry, c.Exit, c.Status}
		got, err := MeanCumulativeCount(times, c.Child, CountOptions{})
		must(t, err)
		if len(got.Time) != len(want.Time) {
			t.Fatalf("case %d: %d times, want %d", i+1, len(got.Time), len(want.Time))
		}
		for j := range want.Time {
			if got.Time[j] != float64(want.Time[j]) || got.AtRisk[j] != want.AtRisk[j] || got.Events[j] != want.Events[j] ||
				!nearRelative(got.Count[j], float64(want.Count[j]), 1e-8) || !nearRelative(got.SE[j], float64(want.SE[j]), 1e-8) {
				t.Errorf("case %d, time %v: %d at risk, %d events, count %.12g, SE %.12g; want %d, %d, %.12g, %.12g", i+1, got.Time[j],
					got.AtRisk[j], got.Events[j], got.Count[j], got.SE[j], want.AtRisk[j], want.Events[j], float64(want.Count[j]), float64(want.SE[j]))
			}
		}
		k := 0
		for _, g := range c.Group {
			k = max(k, g+1)
		}
		test, err := CompareMeanCounts(times, c.Child, c.Group, k)
		must(t, err)
		if !nearRelative(test.Test.Statistic, float64(want.Test[0]), 1e-8) || int(test.Test.DF) != want.DF[0] {
			t.Errorf("case %d: test %.12g on %v, want %.12g on %d", i+1, test.Test.Statistic, test.Test.DF, float64(want.Test[0]), want.DF[0])
		}
	}
}
