package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func ExampleUnion() {
	// Football for 100 days and netball for 60, 20 days of them in common.
	sports := []Interval{{0, 100, 150}, {80, 140, 45}}
	days := 0.0
	for _, iv := range Union(sports) {
		days += iv.Days()
	}
	fmt.Printf("%.0f days, %.0f hours\n", days, sports[0].Amount+sports[1].Amount)
	// Output: 140 days, 195 hours
}

func ExampleInterval_Without() {
	// A season of 200 days with 100 hours, and an episode from day 50 to 90.
	season := Interval{From: 0, To: 200, Amount: 100}
	for _, iv := range season.Without([]Interval{{From: 50, To: 90}}) {
		fmt.Printf("day %.0f to %.0f: %.0f hours\n", iv.From, iv.To, iv.Amount)
	}
	// Output:
	// day 0 to 50: 25 hours
	// day 90 to 200: 55 hours
}

func ExampleInterval_SplitAt() {
	// Two seasons start on days 30 and 395 of a child's study days.
	for _, p := range (Interval{0, 400, 80}).SplitAt([]float64{30, 395}) {
		fmt.Printf("season %d: day %.0f to %.0f, %.0f hours\n", p.Band, p.From, p.To, p.Amount)
	}
	// Output:
	// season 0: day 0 to 30, 6 hours
	// season 1: day 30 to 395, 73 hours
	// season 2: day 395 to 400, 1 hours
}

func TestClipByHand(t *testing.T) {
	iv := Interval{10, 20, 40}
	self := Interval{10, 20, math.NaN()}
	for _, c := range []struct {
		iv          Interval
		entry, exit float64
		from, to    float64
		total       float64
		ok          bool
	}{
		{iv, 0, 30, 10, 20, 40, true},
		{iv, 12.5, 15, 12.5, 15, 10, true},
		{iv, math.Inf(-1), 11, 10, 11, 4, true},
		{iv, 19, math.Inf(1), 19, 20, 4, true},
		{iv, 20, 30, 0, 0, 0, false},
		{iv, 0, 10, 0, 0, 0, false},
		{iv, 15, 12, 0, 0, 0, false},
		{self, 12.5, 15, 12.5, 15, 2.5, true},
		{Interval{10, 10, 3}, 10, 11, 10, 10, 3, true},
		{Interval{10, 10, 3}, 5, 10, 10, 10, 3, false},
	} {
		got, ok := c.iv.Clip(c.entry, c.exit)
		if ok != c.ok || (ok && (got.From != c.from || got.To != c.to || got.Total() != c.total)) {
			t.Errorf("%v clipped to %v, %v: %v, %v", c.iv, c.entry, c.exit, got, ok)
		}
	}
}

func TestUnionByHand(t *testing.T) {
	got := Union([]Interval{{5, 9, 1}, {0, 2, 7}, {9, 10, 1}, {6, 7, math.NaN()}, {1, 3, 0}, {4, 4, 2}})
	want := [][2]float64{{0, 3}, {5, 10}}
	if len(got) != len(want) {
		t.Fatalf("got %v, want %v", got, want)
	}
	for i, iv := range got {
		if iv.From != want[i][0] || iv.To != want[i][1] || iv.Total() != iv.To-iv.From {
			t.Errorf("got %v, want %v", got, want)
		}
	}
	if Union(nil) != nil {
		t.Error("nothing covers something")
	}
}

func TestWithoutByHand(t *testing.T) {
	iv := Interval{10, 20, 40}
	for _, c := range []struct {
		iv    Interval
		holes []Interval
		want  []Interval
	}{
		{iv, nil, []Interval{iv}},
		{iv, []Interval{{0, 10, 0}, {20, 30, 0}}, []Interval{iv}},
		{iv, []Interval{{0, 30, 0}}, nil},
		{iv, []Interval{{18, 25, 0}, {12, 14, 0}, {13, 15, 0}, {0, 11, 0}}, []Interval{{11, 12, 4}, {15, 18, 12}}},
		{Interval{10, 10, 3}, []Interval{{10, 11, 0}}, nil},
		{Interval{10, 10, 3}, []Interval{{9, 10, 0}, {11, 12, 0}}, []Interval{{10, 10, 3}}},
	} {
		if got := c.iv.Without(c.holes); !slices.Equal(got, c.want) {
			t.Errorf("%v without %v: %v, want %v", c.iv, c.holes, got, c.want)
		}
	}
}

func TestSplitAtByHand(t *testing.T) {
	got := Interval{0, 10, math.NaN()}.SplitAt([]float64{12, 4, 0, 4, -3, 10})
	want := []Piece{{2, 0, 4, 4}, {4, 4, 10, 6}}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := (Interval{4, 4, 3}).SplitAt([]float64{4, 5}); !slices.Equal(got, []Piece{{1, 4, 4, 3}}) {
		t.Errorf("an instant: %v", got)
	}
}

// randomInterval has ends on a grid of eighths of a day, and perhaps an amount.
func randomInterval(r *rand.Rand) Interval {
	from := r.IntN(8*1500) - 8*300
	iv := Interval{float64(from) / 8, float64(from+1+r.IntN(8*400)) / 8, math.NaN()}
	if r.IntN(3) > 0 {
		iv.Amount = float64(r.IntN(300)) / 4
	}
	return iv
}

// Walking a child's days in steps of an eighth tells for every step whether it
// is covered, and so what is left, clipped and in the union.
func TestIntervalsAgainstSteps(t *testing.T) {
	const step = 0.125
	r := rand.New(rand.NewPCG(22, 1))
	covered := func(ivs []Interval, day float64) bool {
		return slices.ContainsFunc(ivs, func(iv Interval) bool { return iv.From <= day && day < iv.To })
	}
	for range 60 {
		iv := randomInterval(r)
		var holes []Interval
		for range r.IntN(6) {
			holes = append(holes, randomInterval(r))
		}
		entry, exit := float64(r.IntN(1000))/8, float64(1000+r.IntN(6000))/8
		clipped, ok := iv.Clip(entry, exit)
		left, union := iv.Without(holes), Union(holes)
		var leftDays, clippedDays, unionDays float64
		for day := -400.0; day < 1700; day += step {
			inside := iv.From <= day && day < iv.To
			hole := covered(holes, day)
			if inside && !hole {
				leftDays += step
			}
			if inside && entry <= day && day < exit {
				clippedDays += step
			}
			if hole {
				unionDays += step
			}
			if covered(left, day) != (inside && !hole) || covered(union, day) != hole {
				t.Fatalf("%v, holes %v: left %v and union %v are wrong on day %v", iv, holes, left, union, day)
			}
		}
		amount := func(ivs []Interval) (days, total float64) {
			for _, x := range ivs {
				days += x.Days()
				total += x.Total()
			}
			return days, total
		}
		days, total := amount(left)
		if days != leftDays || !near(total, iv.Total()*leftDays/iv.Days(), 1e-12) {
			t.Errorf("%v without %v: %v days and %v, want %v days", iv, holes, days, total, leftDays)
		}
		if days, _ := amount(union); days != unionDays {
			t.Errorf("union of %v: %v days, want %v", holes, days, unionDays)
		}
		if ok != (clippedDays > 0) || clipped.Days() != clippedDays ||
			(ok && !near(clipped.Total(), iv.Total()*clippedDays/iv.Days(), 1e-12)) {
			t.Errorf("%v clipped to %v, %v: %v, want %v days", iv, entry, exit, clipped, clippedDays)
		}
	}
}

func TestIntervalRefuses(t *testing.T) {
	for _, iv := range []Interval{{3, 2, 1}, {math.NaN(), 2, 1}, {0, math.Inf(1), 1}} {
		panics(t, "expected finite days in order", func() { iv.Clip(0, 1) })
		panics(t, "expected finite days in order", func() { iv.Without(nil) })
		panics(t, "expected finite days in order", func() { iv.SplitAt(nil) })
		panics(t, "expected finite days in order", func() { Union([]Interval{iv}) })
	}
}
