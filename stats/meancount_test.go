package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

func ExampleMeanCumulativeCount() {
	// Three children over 100 days: the first has episodes on days 20 and 60.
	c, err := MeanCumulativeCount(Times{
		Entry:  []float64{0, 20, 60, 0, 0, 45},
		Exit:   []float64{20, 60, 100, 100, 45, 80},
		Status: []bool{true, true, false, false, true, false},
	}, []int{1, 1, 1, 2, 3, 3}, CountOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i, day := range c.Time {
		fmt.Printf("day %g: %.3f episodes a child\n", day, c.Count[i])
	}
	// Output:
	// day 20: 0.333 episodes a child
	// day 45: 0.667 episodes a child
	// day 60: 1.000 episodes a child
}

// By hand: four children, one of whom gives up at day 2 and so is counted as
// having nothing afterwards. Day 1: 1/4. Day 2: an event and the end, both
// among 4: 1/4 more, S = 3/4. Day 3: one event among the 3 left: 3/4 · 1/3 more.
func TestMeanCumulativeCountByHand(t *testing.T) {
	times := Times{
		Entry:  []float64{0, 1, 0, 0, 0},
		Exit:   []float64{1, 5, 2, 3, 5},
		Status: []bool{true, false, true, true, false},
	}
	child := []int{7, 7, 8, 9, 4}
	c, err := MeanCumulativeCount(times, child, CountOptions{Terminal: []bool{false, false, true, false, false}})
	must(t, err)
	want := []float64{0.25, 0.5, 0.75}
	for i, x := range want {
		if !near(c.Count[i], x, 1e-15) {
			t.Errorf("count at %v: %v, want %v", c.Time[i], c.Count[i], x)
		}
	}
	// At day 1 the influences are 3/16 and three times −1/16.
	if se := math.Sqrt(12) / 16; !near(c.SE[0], se, 1e-15) {
		t.Errorf("SE %v, want %v", c.SE[0], se)
	}
	if n, lower, _, ok := c.At(0.5); n != 0 || !math.IsNaN(lower) || !ok {
		t.Errorf("before the first event: %v, %v, %v", n, lower, ok)
	}
	if n, _, _, ok := c.At(4); n != c.Count[2] || !ok {
		t.Errorf("at 4: %v, %v", n, ok)
	}
	if _, _, _, ok := c.At(5.5); ok {
		t.Error("after the last exit something is known")
	}
}

// plainCount is the count at a time when children have weights: the definition,
// one loop a sum.
func plainCount(times Times, child []int, ended []bool, weight map[int]float64, upTo float64) float64 {
	sum := func(at float64, counts func(int) bool) float64 {
		total := 0.0
		for i, who := range child {
			if times.Entry[i] < at && at <= times.Exit[i] && counts(i) {
				total += weight[who]
			}
		}
		return total
	}
	count, free := 0.0, 1.0
	for at := 1.0; at <= upTo; at++ {
		n := sum(at, func(int) bool { return true })
		if n == 0 {
			continue
		}
		count += free * sum(at, func(i int) bool { return times.Exit[i] == at && times.Status[i] }) / n
		free *= 1 - sum(at, func(i int) bool { return times.Exit[i] == at && ended[i] })/n
	}
	return count
}

// The robust variance is the sum of the squared derivatives of the count by
// the children's weights, here by central differences of the plain definition:
// 1e-6 allows for the differences' own error.
func TestMeanCumulativeCountInfluence(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for range 60 {
		c := randomRecurrence(r)
		ended := make([]bool, len(c.Exit))
		for i := range ended {
			lastOfChild := i+1 == len(c.Child) || c.Child[i+1] != c.Child[i]
			ended[i] = lastOfChild && r.IntN(3) == 0
		}
		times := Times{c.Entry, c.Exit, c.Status}
		got, err := MeanCumulativeCount(times, c.Child, CountOptions{Terminal: ended})
		must(t, err)
		weight := map[int]float64{}
		for _, who := range c.Child {
			weight[who] = 1
		}
		for _, j := range []int{len(got.Time) / 2, len(got.Time) - 1} {
			at := got.Time[j]
			if plain := plainCount(times, c.Child, ended, weight, at); !near(got.Count[j], plain, 1e-12) {
				t.Fatalf("count at %v: %v, plainly %v", at, got.Count[j], plain)
			}
			variance := 0.0
			for who := range weight {
				const h = 1e-4
				weight[who] = 1 + h
				up := plainCount(times, c.Child, ended, weight, at)
				weight[who] = 1 - h
				down := plainCount(times, c.Child, ended, weight, at)
				weight[who] = 1
				d := (up - down) / (2 * h)
				variance += d * d
			}
			if !nearRelative(got.SE[j], math.Sqrt(variance), 1e-6) {
				t.Errorf("SE at %v: %v, by differences %v", at, got.SE[j], math.Sqrt(variance))
			}
		}
	}
}

// Cutting a child's rows and shuffling them changes nothing.
func TestMeanCumulativeCountRows(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	for range 40 {
		c := randomRecurrence(r)
		whole, err := MeanCumulativeCount(Times{c.Entry, c.Exit, c.Status}, c.Child, CountOptions{})
		must(t, err)
		var cut recurrenceCase
		for _, i := range r.Perm(len(c.Exit)) {
			add := func(entry, exit float64, status bool) {
				cut.Child, cut.Entry = append(cut.Child, c.Child[i]), append(cut.Entry, entry)
				cut.Exit, cut.Status = append(cut.Exit, exit), append(cut.Status, status)
			}
			if mid := math.Floor((c.Entry[i] + c.Exit[i]) / 2); mid > c.Entry[i] {
				add(mid, c.Exit[i], c.Status[i])
				add(c.Entry[i], mid, false)
				continue
			}
			add(c.Entry[i], c.Exit[i], c.Status[i])
		}
		again, err := MeanCumulativeCount(Times{cut.Entry, cut.Exit, cut.Status}, cut.Child, CountOptions{})
		must(t, err)
		for j := range whole.Time {
			if whole.Time[j] != again.Time[j] || !near(whole.Count[j], again.Count[j], 1e-14) || !near(whole.SE[j], again.SE[j], 1e-12) {
				t.Fatalf("time %v: %v ± %v, cut %v ± %v", whole.Time[j], whole.Count[j], whole.SE[j], again.Count[j], again.SE[j])
			}
		}
	}
}

func TestMeanCumulativeCountRefuses(t *testing.T) {
	for _, c := range []struct {
		times Times
		child []int
		ended []bool
		want  error
		words string
	}{
		{Times{}, nil, nil, ErrNoData, "no observations"},
		{Times{[]float64{0}, []float64{4}, []bool{false}}, []int{1}, nil, ErrNoEvents, "1 children"},
		{Times{[]float64{0, 3}, []float64{4, 6}, []bool{true, false}}, []int{1, 1}, nil, ErrOverlap, "row 2"},
		{Times{[]float64{0, 4}, []float64{4, 6}, []bool{true, false}}, []int{1, 1}, []bool{true, false}, ErrOverlap, "after the child's terminal exit"},
		{Times{[]float64{4}, []float64{4}, []bool{true}}, []int{1}, nil, ErrEntryAfterExit, "row 1"},
	} {
		_, err := MeanCumulativeCount(c.times, c.child, CountOptions{Terminal: c.ended})
		if !errors.Is(err, c.want) || !strings.Contains(fmt.Sprint(err), c.words) {
			t.Errorf("%+v: got %v, want %v about %q", c.times, err, c.want, c.words)
		}
	}
	_, err := CompareMeanCounts(Times{[]float64{0, 5}, []float64{4, 6}, []bool{true, true}}, []int{1, 2}, []int{0, 1}, 2)
	if !errors.Is(err, ErrNoVariance) {
		t.Errorf("groups never at risk together: %v", err)
	}
	panics(t, "child 1 has rows of groups 0 and 1", func() {
		_, _ = CompareMeanCounts(Times{[]float64{0, 5}, []float64{4, 6}, []bool{true, true}}, []int{1, 1}, []int{0, 1}, 2)
	})
}
