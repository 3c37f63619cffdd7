package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"heelcohort/stats/internal/published"
)

func ExampleIntervalCensored() {
	// Still in pain at the left visit, free of it at the right one; the last
	// child was never seen free.
	v := Intervals{
		Left:  []float64{0, 14, 14, 28, 28},
		Right: []float64{14, 28, 42, 56, math.Inf(1)},
	}
	c, err := IntervalCensored(v)
	if err != nil {
		panic(err)
	}
	for i := range c.Mass {
		fmt.Printf("after day %g up to day %g: %.3f\n", c.Left[i], c.Right[i], c.Mass[i])
	}
	// Output:
	// after day 0 up to day 14: 0.200
	// after day 14 up to day 28: 0.267
	// after day 28 up to day 42: 0.533
}

// By hand: the rows of the example include regions 1; 2; 2 and 3; 3; 3, so that
// with p = 1/5 fixed by the first the others maximise p2 (p2+p3) p3² with
// p2 + p3 = 4/5: p2 = 4/15.
func TestIntervalCensoredByHand(t *testing.T) {
	v := Intervals{[]float64{0, 14, 14, 28, 28}, []float64{14, 28, 42, 56, math.Inf(1)}}
	c, err := IntervalCensored(v)
	must(t, err)
	want := []float64{1.0 / 5, 4.0 / 15, 8.0 / 15}
	for i, w := range want {
		if !near(c.Mass[i], w, 1e-12) {
			t.Errorf("mass %d: %v, want %v", i+1, c.Mass[i], w)
		}
	}
	if least, largest := c.At(20); !near(least, 8.0/15, 1e-12) || !near(largest, 4.0/5, 1e-12) {
		t.Errorf("on day 20 between %v and %v, want 8/15 and 4/5", least, largest)
	}
	if least, largest := c.At(28); !near(least, 8.0/15, 1e-12) || least != largest {
		t.Errorf("on day 28 between %v and %v, want 8/15", least, largest)
	}
	if from, to, ok := c.Quantile(0.5); !ok || from != 28 || to != 42 {
		t.Errorf("median after %v up to %v (%v), want after 28 up to 42", from, to, ok)
	}
}

func TestIntervalCensoredPublished(t *testing.T) {
	want := published.Load(t, "finkelstein-wolfe-1985")
	v := Intervals{want.Floats("left"), want.Floats("right")}
	for i, r := range v.Right {
		if math.IsNaN(r) {
			v.Right[i] = math.Inf(1)
		}
	}
	c, err := IntervalCensored(v)
	must(t, err)
	for i := range c.Mass {
		want.Check(fmt.Sprintf("mass (%g-%g]", c.Left[i], c.Right[i]), c.Mass[i])
	}
}

// With exact and unfinished rows only, the estimate is Kaplan and Meier's.
func TestIntervalCensoredIsKaplanMeier(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 1))
	for range 300 {
		n := 4 + r.IntN(40)
		var v Intervals
		var k Times
		for range n {
			at, seen := float64(1+r.IntN(15)), r.IntN(3) > 0
			right := at
			if !seen {
				right = math.Inf(1)
			}
			v.Left, v.Right = append(v.Left, at), append(v.Right, right)
			k.Exit, k.Status = append(k.Exit, at), append(k.Status, seen)
		}
		if !slices.Contains(k.Status, true) {
			continue
		}
		c, err := IntervalCensored(v)
		must(t, err)
		curve := mustCurve(t, k, CurveOptions{})
		for i, at := range c.Right {
			if want := curve.At(at).Survival; !near(c.Survival[i], want, 1e-9) || c.Left[i] != at {
				t.Fatalf("at %v: %v, Kaplan-Meier %v", at, c.Survival[i], want)
			}
		}
	}
}

func randomIntervals(r *rand.Rand, n int) Intervals {
	var v Intervals
	for range n {
		at := 60 * r.ExpFloat64()
		left, visit := 0.0, 0.0
		right := math.Inf(1)
		for visit < 120 {
			visit += float64(5 + r.IntN(30))
			if visit >= at {
				right = visit
				break
			}
			left = visit
		}
		if r.IntN(8) == 0 && !math.IsInf(right, 1) {
			left = right
		}
		v.Left, v.Right = append(v.Left, left), append(v.Right, right)
	}
	return v
}

// The optimality conditions, written out plainly: over every region the mean of
// 1/P(row) over rows that include it is at most 1, and 1 where there is mass.
func TestIntervalCensoredIsOptimal(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 2))
	for draw := range 200 {
		v := randomIntervals(r, 5+r.IntN(120))
		c, err := IntervalCensored(v)
		if errors.Is(err, ErrNoEvents) {
			continue
		}
		must(t, err)
		if c.Gap > 1e-8*float64(c.N) {
			t.Fatalf("draw %d: gap %v", draw, c.Gap)
		}
		logLik, includes := 0.0, func(i int, left, right float64) bool {
			if v.Left[i] == v.Right[i] {
				return left == right && left == v.Left[i]
			}
			return v.Left[i] <= left && right <= v.Right[i] && (left < right || left > v.Left[i])
		}
		chance := make([]float64, len(v.Left))
		for i := range chance {
			for j := range c.Mass {
				if includes(i, c.Left[j], c.Right[j]) {
					chance[i] += c.Mass[j]
				}
			}
			if math.IsInf(v.Right[i], 1) {
				chance[i] += c.Beyond
			}
			logLik += math.Log(chance[i])
		}
		if !near(c.LogLik, logLik, 1e-10) {
			t.Fatalf("draw %d: log likelihood %v, written out %v", draw, c.LogLik, logLik)
		}
		slope := func(left, right float64) float64 {
			sum := 0.0
			for i := range chance {
				if includes(i, left, right) {
					sum += 1 / chance[i]
				}
			}
			return sum / float64(len(chance))
		}
		for j := range c.Mass {
			if d := slope(c.Left[j], c.Right[j]); !near(d, 1, 1e-6) {
				t.Fatalf("draw %d: slope %v where there is mass", draw, d)
			}
		}
		ends := append(append([]float64{}, v.Left...), v.Right...)
		slices.Sort(ends)
		for i := 1; i < len(ends); i++ {
			if !math.IsInf(ends[i], 1) && ends[i-1] < ends[i] {
				if d := slope(ends[i-1], ends[i]); d > 1+1e-9 {
					t.Fatalf("draw %d: slope %v over (%v, %v]", draw, d, ends[i-1], ends[i])
				}
			}
			if d := slope(ends[i], ends[i]); d > 1+1e-9 {
				t.Fatalf("draw %d: slope %v at %v", draw, d, ends[i])
			}
		}
	}
}

func TestIntervalCensoredRefuses(t *testing.T) {
	for _, c := range []struct {
		name string
		v    Intervals
		want error
	}{
		{"no rows", Intervals{}, ErrNoData},
		{"never seen", Intervals{[]float64{1, 2}, []float64{math.Inf(1), math.Inf(1)}}, ErrNoEvents},
		{"ends before it begins", Intervals{[]float64{3}, []float64{2}}, ErrEmptyInterval},
		{"not a number", Intervals{[]float64{math.NaN()}, []float64{2}}, ErrNotFinite},
	} {
		if _, err := IntervalCensored(c.v); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if _, _, err := IntervalLimits(Intervals{[]float64{1, 2}, []float64{2, 3}}, []int{4, 4}, nil, nil, BootstrapOptions{}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one cluster: %v", err)
	}
}

// Limits of the bootstrap cover the curve of children with two heels: 150 draws
// of 60 children seen every 14 days, within three standard errors of 0.95 or
// above, for the limits err on the wide side.
func TestIntervalLimitsCover(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 3))
	const draws, day = 150, 42.0
	held, both := 0, 0
	for range draws {
		var v Intervals
		var child []int
		for c := range 60 {
			own := math.Exp(0.5 * r.NormFloat64())
			for range 2 {
				at := 50 * own * r.ExpFloat64()
				left := math.Floor(at/14) * 14
				right := left + 14
				if left >= 140 {
					left, right = 140, math.Inf(1)
				}
				v.Left, v.Right, child = append(v.Left, left), append(v.Right, right), append(child, c)
			}
		}
		s, q, err := IntervalLimits(v, child, []float64{day}, []float64{0.5}, BootstrapOptions{Replicates: 199, Seed: 3})
		must(t, err)
		truth := 0.0 // the mean over the normal quantiles
		for k := range 2000 {
			truth += math.Exp(-day/(50*math.Exp(0.5*normalQuantile((float64(k)+0.5)/2000)))) / 2000
		}
		if s[0].Lower <= truth && truth <= s[0].Upper {
			held++
		}
		// The median is 33.5 (by the same mean): in (28, 42].
		if q[0].Lower <= 33.5 && 33.5 <= q[0].Upper {
			both++
		}
	}
	least := 0.95 - 3*math.Sqrt(0.05*0.95/draws)
	if float64(held)/draws < least || float64(both)/draws < least {
		t.Errorf("covers the curve %d and the median %d of %d times", held, both, draws)
	}
}
