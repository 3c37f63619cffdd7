package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func ExampleSplitByAge() {
	// A child aged 9.5 on day 0 turns 10 on day 182.625.
	season := Interval{From: 0, To: 292.2, Amount: 160}
	for _, p := range SplitByAge(season, 9.5, []float64{8, 10, 12}) {
		fmt.Printf("band %d: day %.3f to %.3f, %.1f hours\n", p.Band, p.From, p.To, p.Amount)
	}
	// Output:
	// band 0: day 0.000 to 182.625, 100.0 hours
	// band 1: day 182.625 to 292.200, 60.0 hours
}

// By hand: aged 7 on day 0, so 8 on day 365.25 and 10 on day 1095.75. From day
// 365 to 1096.25 are 0.25 days below the bands, 730.5 in the first and 0.5 in
// the last.
func TestSplitByAgeByHand(t *testing.T) {
	iv := Interval{365, 1096.25, math.NaN()}
	got := SplitByAge(iv, 7, []float64{8, 10})
	want := []Piece{{BelowBands, 365, 365.25, 0.25}, {0, 365.25, 1095.75, 730.5}, {1, 1095.75, 1096.25, 0.5}}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	below, bands := SumByAge([]Interval{iv, {365.25, 366.25, 6}, {0, 100, 8}}, 7, []float64{8, 10})
	if below != 8.25 || !slices.Equal(bands, []float64{736.5, 0.5}) {
		t.Errorf("got %v below and %v, want 8.25 and [736.5 0.5]", below, bands)
	}
	// On the very birthday the child is in the next band.
	if got := SplitByAge(Interval{365.25, 400, 1}, 7, []float64{8}); len(got) != 1 || got[0].Band != 0 {
		t.Errorf("from the birthday: %v", got)
	}
	if got := SplitByAge(iv, 7, nil); len(got) != 1 || got[0].Band != BelowBands {
		t.Errorf("without bands: %v", got)
	}
	if AgeDay(10.125, 9.5) != 228.28125 {
		t.Errorf("5/8 of a year are %v days", AgeDay(10.125, 9.5))
	}
}

// Walking in steps of an eighth of a day, on which all boundaries fall for
// ages in half years, and looking up the age at each step.
func TestSumByAgeAgainstSteps(t *testing.T) {
	const step = 0.125
	r := rand.New(rand.NewPCG(23, 1))
	for range 100 {
		age := 6 + float64(r.IntN(20))/2
		bounds := []float64{8, 9.5, 10, 13}[:r.IntN(5)]
		var intervals []Interval
		for range 1 + r.IntN(4) {
			intervals = append(intervals, randomInterval(r))
		}
		wantBelow, want := 0.0, make([]float64, len(bounds))
		for _, iv := range intervals {
			for day := iv.From; day < iv.To; day += step {
				// The age is compared in days: (bound − age) 365.25 is exact here.
				band := -1
				for band+1 < len(bounds) && day >= (bounds[band+1]-age)*365.25 {
					band++
				}
				share := iv.Total() * step / iv.Days()
				if band < 0 {
					wantBelow += share
				} else {
					want[band] += share
				}
			}
		}
		below, bands := SumByAge(intervals, age, bounds)
		if !near(below, wantBelow, 1e-10) {
			t.Errorf("age %v, bounds %v, %v: %v below, want %v", age, bounds, intervals, below, wantBelow)
		}
		for i := range bands {
			if !near(bands[i], want[i], 1e-10) {
				t.Errorf("age %v, bounds %v, %v: bands %v, want %v", age, bounds, intervals, bands, want)
			}
		}
	}
}

// Whatever the ages: the pieces tile the interval in order and add up to its
// amount, and cutting it elsewhere before, joining bands or another order of
// the intervals change nothing.
func TestSplitByAgeProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(24, 1))
	for range 500 {
		age := 6 + 10*r.Float64()
		bounds := []float64{8 + r.Float64(), 10 + r.Float64(), 11.5 + r.Float64(), 14}
		iv := randomInterval(r)
		pieces := SplitByAge(iv, age, bounds)
		total, at := 0.0, iv.From
		for i, p := range pieces {
			total += p.Amount
			if p.From != at || !(p.To > p.From) || (i > 0 && p.Band <= pieces[i-1].Band) {
				t.Fatalf("%v at age %v: %v do not tile it", iv, age, pieces)
			}
			at = p.To
			if middle := age + (p.From+p.To)/2/365.25; (p.Band >= 0 && middle < bounds[p.Band]) || (p.Band+1 < len(bounds) && middle >= bounds[p.Band+1]) {
				t.Errorf("age %v in band %d of %v", middle, p.Band, bounds)
			}
		}
		if at != iv.To || !near(total, iv.Total(), 1e-12) {
			t.Errorf("%v at age %v: the pieces %v add up to %v", iv, age, pieces, total)
		}
		below, bands := SumByAge([]Interval{iv}, age, bounds)
		var parts []Interval
		for _, p := range iv.SplitAt([]float64{r.Float64() * 1000, r.Float64() * 1000, r.Float64() * 1000}) {
			parts = append(parts, Interval{p.From, p.To, p.Amount})
		}
		r.Shuffle(len(parts), func(i, j int) { parts[i], parts[j] = parts[j], parts[i] })
		partsBelow, partsBands := SumByAge(parts, age, bounds)
		coarseBelow, coarse := SumByAge(parts, age, bounds[1:3])
		joined := []float64{bands[1], bands[2] + bands[3]}
		for i := range bands {
			if !near(bands[i], partsBands[i], 1e-12) {
				t.Errorf("%v at age %v: bands %v, from parts %v", iv, age, bands, partsBands)
			}
		}
		if !near(below, partsBelow, 1e-12) || !near(below+bands[0], coarseBelow, 1e-12) ||
			!near(joined[0], coarse[0], 1e-12) || !near(joined[1], coarse[1], 1e-12) {
			t.Errorf("%v at age %v: %v %v, joined %v %v", iv, age, below, bands, coarseBelow, coarse)
		}
	}
}

func TestSplitByAgeRefuses(t *testing.T) {
	iv := Interval{0, 10, 1}
	panics(t, "expected finite increasing years", func() { SplitByAge(iv, 9, []float64{8, 8}) })
	panics(t, "expected finite increasing years", func() { SplitByAge(iv, 9, []float64{math.NaN()}) })
	panics(t, "age on day 0 is NaN", func() { SplitByAge(iv, math.NaN(), []float64{8}) })
}
