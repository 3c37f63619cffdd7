package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// By hand: with one end by the cause, on day 4 of six rows 1 to 6 of which
// those on days 1, 2, 3 and 5 ended by another, all six still count: 3 of each
// group. The score is d − d R_g/R = ±1/2. At day 4 group 1 (days 1, 3, 6) has
// 1 at risk and an event-free probability of 1/3, group 2 (days 2, 4, 5) 2 and
// 2/3: n/S = 3 each.
func TestGrayByHand(t *testing.T) {
	r, err := GrayTest(CompetingTimes{Exit: []float64{1, 2, 3, 4, 5, 6}, Cause: []int{2, 2, 2, 1, 2, 1}}, 1, []int{0, 1, 0, 1, 1, 0}, 2, GrayOptions{})
	must(t, err)
	// The last end leaves only group 1 with rows that did not end: n/S is 3 for
	// it and no rows are left of group 2, whose R is 0: it adds no score.
	if !near(r.Score[0], -0.5, 1e-14) || !near(r.Score[1], 0.5, 1e-14) {
		t.Errorf("scores %v, want -1/2 and 1/2", r.Score)
	}
}

// Under one incidence the test rejects as often as it says: 1,000 data sets of
// two groups with different censoring, within three standard errors.
func TestGrayLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 3))
	rejected := 0
	const draws = 1000
	for range draws {
		var times CompetingTimes
		var group []int
		for i := range 120 {
			end, cause := r.ExpFloat64(), 1+r.IntN(2)
			censored := (1 + float64(i%2)) * r.ExpFloat64()
			if censored < end {
				end, cause = censored, 0
			}
			times.Exit, times.Cause = append(times.Exit, end), append(times.Cause, cause)
			group = append(group, i%2)
		}
		g, err := GrayTest(times, 1, group, 2, GrayOptions{})
		must(t, err)
		if g.Test.P < 0.05 {
			rejected++
		}
	}
	if share, slack := float64(rejected)/draws, 3*math.Sqrt(0.05*0.95/draws); math.Abs(share-0.05) > slack {
		t.Errorf("rejects %v of the time, want 0.05 ± %.3f", share, slack)
	}
}

func TestGrayRefuses(t *testing.T) {
	exit, group := []float64{1, 2, 3, 4}, []int{0, 1, 0, 1}
	for _, c := range []struct {
		name  string
		times CompetingTimes
		group []int
		want  error
	}{
		{"late entry", CompetingTimes{[]float64{0, 1, 0, 0}, exit, []int{1, 1, 2, 0}}, group, ErrLateEntry},
		{"no end by the cause", CompetingTimes{nil, exit, []int{2, 2, 0, 0}}, group, ErrNoEvents},
		{"one group", CompetingTimes{nil, exit, []int{1, 1, 0, 0}}, []int{1, 1, 1, 1}, ErrNoVariance},
		{"groups apart", CompetingTimes{nil, exit, []int{0, 0, 0, 1}}, []int{0, 0, 0, 1}, ErrNoVariance},
		{"nothing", CompetingTimes{}, nil, ErrNoData},
	} {
		if _, err := GrayTest(c.times, 1, c.group, 2, GrayOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}
