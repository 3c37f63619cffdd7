package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Three children with 10, 10 and 20 hours lose 2, 0 and 6 days: 8/40, 200 per
// 1,000 hours. The residuals d − t/5 are 0, −2 and 2, so that the squared error
// of the log is 3/2 · 8/64 = 3/16.
func TestBurdenByHand(t *testing.T) {
	time := []float64{10, 10, 20}
	l := Losses{Child: []int{0, 2, 2}, Days: []float64{2, 5, 1}}
	e, err := Burden(time, l, BurdenOptions{Per: 1000, Limits: BurdenLog})
	must(t, err)
	se := math.Sqrt(3. / 16)
	if !near(e.Value, 200, 1e-12) || !near(e.SE, se, 1e-12) ||
		!near(e.Lower, 200*math.Exp(-1.959963984540054*se), 1e-9) || !near(e.Upper, 200*math.Exp(1.959963984540054*se), 1e-9) {
		t.Errorf("burden %v (%v to %v), SE %v", e.Value, e.Lower, e.Upper, e.SE)
	}
	// Of the 27 samples the smallest ratio is 0 (three times the second child)
	// and the largest 6/20 (three times the third): each is 1/27, more than the
	// 1/40 beyond the limits.
	e, err = Burden(time, l, BurdenOptions{Per: 1000, Seed: 1})
	must(t, err)
	if e.Lower != 0 || !near(e.Upper, 300, 1e-12) || !warned(e.Warnings, "few-clusters") || !warned(e.Warnings, "few-with-loss") {
		t.Errorf("bootstrap limits %v to %v, want 0 to 300; %v", e.Lower, e.Upper, e.Warnings)
	}
	l.Unfinished = []bool{false, true, false}
	e, err = Burden(time, l, BurdenOptions{Per: 1000, Limits: BurdenLog})
	must(t, err)
	if !near(e.Value, 200, 1e-12) || len(e.Warnings) != 1 || e.Warnings[0].Text != "1 of 3 episodes were not finished: their days so far are counted, and the burden is a lower bound." {
		t.Errorf("unfinished: %v, %v", e.Value, e.Warnings)
	}
}

// Episodes of 1, 2+, 3 and 5 days: the curve is 1 to day 1, 3/4 to day 3, 3/8 to
// day 5, then 0. Restricted to 4 days the mean is 1 + 2·3/4 + 3/8 = 23/8, and
// four of them are 11.5 days; to 10 days it is 1 + 3/2 + 3/4 = 13/4, 13 days.
func TestBurdenHorizonByHand(t *testing.T) {
	l := Losses{Child: []int{0, 1, 2, 0}, Days: []float64{5, 2, 1, 3}, Unfinished: []bool{false, true, false, false}}
	for horizon, want := range map[float64]float64{4: 11.5, 10: 13, 1: 4, 0: 11} {
		e, err := Burden([]float64{40, 30, 30}, l, BurdenOptions{Horizon: horizon})
		must(t, err)
		if !near(e.Value, want/100, 1e-12) || warned(e.Warnings, "unfinished") != (horizon == 0) {
			t.Errorf("horizon %v: %v, want %v; %v", horizon, e.Value, want/100, e.Warnings)
		}
	}
	l.Unfinished[0] = true // the longest: 5+ days
	if e, err := Burden([]float64{40, 30, 30}, l, BurdenOptions{Horizon: 5}); err != nil || !near(e.Value, 13./100, 1e-12) {
		t.Errorf("followed up to the horizon: %v, %v", e.Value, err)
	}
	if _, err := Burden([]float64{40, 30, 30}, l, BurdenOptions{Horizon: 6}); !errors.Is(err, ErrBeyondData) {
		t.Errorf("beyond the data: %v", err)
	}
}

// randomLosses draws children with correlated episodes.
func randomLosses(r *rand.Rand, children int) (time []float64, l Losses) {
	for c := range children {
		frailty := r.ExpFloat64()
		t := 20 + 200*r.Float64()
		time = append(time, t)
		for u := r.ExpFloat64() * 100; u < t*frailty; u += r.ExpFloat64() * 100 {
			l.Child = append(l.Child, c)
			l.Days = append(l.Days, math.Floor(r.ExpFloat64()*20))
			l.Unfinished = append(l.Unfinished, r.IntN(6) == 0)
		}
	}
	return time, l
}

// The restricted mean of weighted children is the one of the curve that the
// rows make when each is written down as often, and the log limits are those of
// a Poisson model with robust errors: both to 1e-9.
func TestBurdenSecondImplementation(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	compared := 0
	for range 200 {
		time, l := randomLosses(r, 3+r.IntN(30))
		if len(l.Child) == 0 || slices.Max(l.Days) == 0 {
			continue
		}
		m, err := newLossModel(time, l, BurdenOptions{Horizon: 15})
		must(t, err)
		weight := make([]int, len(time))
		var rows Times
		var total float64
		for i := range weight {
			weight[i] = r.IntN(4)
			total += float64(weight[i]) * time[i]
		}
		for i, c := range l.Child {
			for range weight[c] {
				rows.Exit, rows.Status = append(rows.Exit, l.Days[i]), append(rows.Status, !l.Unfinished[i])
			}
		}
		if len(rows.Exit) == 0 || total == 0 {
			continue
		}
		curve, err := KaplanMeier(rows, CurveOptions{})
		must(t, err)
		want := curve.RestrictedMean(15).Value * float64(len(rows.Exit)) / total
		if got := m.ratio(weight); !near(got, want, 1e-9) {
			t.Fatalf("restricted %v, by the curve %v", got, want)
		}
		e, err := Burden(time, l, BurdenOptions{Limits: BurdenLog})
		must(t, err)
		days, ids := make([]float64, len(time)), make([]int, len(time))
		for i := range ids {
			ids[i] = i
		}
		for i, c := range l.Child {
			days[c] += l.Days[i]
		}
		fit, err := FitPoisson(make([][]float64, len(time)), nil, days, time, GLMOptions{Cluster: ids})
		must(t, err)
		if !near(math.Log(e.Value), fit.Coefficients[0], 1e-9) || !near(e.SE, fit.SE[0], 1e-9) {
			t.Fatalf("log burden %v ± %v, by the model %v ± %v", math.Log(e.Value), e.SE, fit.Coefficients[0], fit.SE[0])
		}
		compared++
	}
	if compared < 100 {
		t.Errorf("only %d data sets compared", compared)
	}
}

// The limits cover what they should, roughly: the true burden of the way the
// children are drawn is worked out from a large draw (to about 1%). 400 draws of
// 150 children; percentile limits of skewed ratios are known to cover somewhat
// less than they say, so from 0.90 on passes, and 0.985 would be too many.
func TestBurdenCoverage(t *testing.T) {
	ratio := func(time []float64, l Losses) float64 {
		e, err := Burden(time, Losses{Child: l.Child, Days: l.Days}, BurdenOptions{Limits: BurdenLog})
		must(t, err)
		return e.Value
	}
	r := rand.New(rand.NewPCG(2, 7))
	time, l := randomLosses(r, 200_000)
	truth := ratio(time, l)
	covered := map[BurdenLimit]int{}
	const draws = 400
	for i := range draws {
		time, l := randomLosses(r, 150)
		for _, limits := range []BurdenLimit{BurdenBootstrap, BurdenLog} {
			e, err := Burden(time, Losses{Child: l.Child, Days: l.Days}, BurdenOptions{Limits: limits, Replicates: 499, Seed: uint64(i)})
			must(t, err)
			if e.Lower <= truth && truth <= e.Upper {
				covered[limits]++
			}
		}
	}
	for limits, n := range covered {
		if share := float64(n) / draws; share < 0.9 || share > 0.985 {
			t.Errorf("limits %d cover %v", limits, share)
		}
	}
}

func TestBurdenEdges(t *testing.T) {
	one := Losses{Child: []int{0}, Days: []float64{0}}
	e, err := Burden([]float64{5, 6}, one, BurdenOptions{})
	if err != nil || e.Value != 0 || !math.IsNaN(e.Lower) || !math.IsNaN(e.Upper) || e.Warnings[0].Code != "limit-not-estimable" {
		t.Errorf("no day lost: %+v, %v", e, err)
	}
	if e, err := Burden([]float64{5, 6}, Losses{}, BurdenOptions{}); err != nil || e.Value != 0 || !math.IsNaN(e.Upper) {
		t.Errorf("no episode: %+v, %v", e, err)
	}
	for _, c := range []struct {
		time []float64
		days float64
		opts BurdenOptions
		want error
	}{
		{[]float64{0, 0}, 1, BurdenOptions{}, ErrNoPersonTime},
		{nil, 1, BurdenOptions{}, ErrNoPersonTime},
		{[]float64{1, 2}, -1, BurdenOptions{}, ErrNegative},
		{[]float64{1, 2}, math.NaN(), BurdenOptions{}, ErrNotFinite},
		{[]float64{1, math.Inf(1)}, 1, BurdenOptions{}, ErrNotFinite},
		{[]float64{1, -2}, 1, BurdenOptions{}, ErrNegative},
		{[]float64{1}, 1, BurdenOptions{}, ErrTooFewClusters},
		{[]float64{1, 0}, 1, BurdenOptions{Limits: BurdenLog}, ErrTooFewClusters},
	} {
		l := Losses{Child: []int{0}, Days: []float64{c.days}}
		if c.time == nil {
			l = Losses{}
		}
		if _, err := Burden(c.time, l, c.opts); !errors.Is(err, c.want) {
			t.Errorf("%v, %v days: %v, want %v", c.time, c.days, err, c.want)
		}
	}
	if _, err := Burden([]float64{1, 2}, Losses{}, BurdenOptions{Horizon: 9}); !errors.Is(err, ErrNoData) {
		t.Errorf("a horizon without episodes: %v", err)
	}
	panics(t, "child 2 of episode 1", func() { _, _ = Burden([]float64{1}, Losses{Child: []int{2}, Days: []float64{1}}, BurdenOptions{}) })
	panics(t, "horizon", func() { _, _ = Burden([]float64{1}, Losses{}, BurdenOptions{Horizon: -1}) })
	panics(t, "by the bootstrap only", func() {
		_, _ = Burden([]float64{1}, Losses{}, BurdenOptions{Horizon: 1, Limits: BurdenLog})
	})
}

func ExampleBurden() {
	hours := []float64{10, 10, 20}
	e, _ := Burden(hours, Losses{Child: []int{0, 2, 2}, Days: []float64{2, 5, 1}}, BurdenOptions{Per: 1000, Limits: BurdenLog})
	fmt.Printf("%s %.1f (%.1f to %.1f)\n", e.Measure, e.Value, e.Lower, e.Upper)
	// Output: burden 200.0 (85.6 to 467.3)
}
