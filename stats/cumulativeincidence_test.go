package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func ExampleCumulativeIncidence() {
	// Four spells: back to sport on days 10 and 40, given up on day 20, lost on day 30.
	t := CompetingTimes{Exit: []float64{10, 20, 30, 40}, Cause: []int{1, 2, 0, 1}}
	c, err := CumulativeIncidence(t, 2, IncidenceOptions{})
	if err != nil {
		panic(err)
	}
	for i, day := range c.Time {
		fmt.Printf("day %g: back %.2f, given up %.2f, neither %.2f\n", day, c.Incidence[0][i], c.Incidence[1][i], c.EventFree[i])
	}
	// Output:
	// day 10: back 0.25, given up 0.00, neither 0.75
	// day 20: back 0.25, given up 0.25, neither 0.50
	// day 30: back 0.25, given up 0.25, neither 0.50
	// day 40: back 0.75, given up 0.25, neither 0.00
}

// By hand: up to day 20 nobody is censored and an incidence of 1/4 of four has
// the multinomial variance 3/64. At day 40, with F = 3/4 and F(s) = 1/4 at days
// 10 and 20, where S(s−) = 1 and 3/4: Σ (1/2)² d/(n(n−d)) = 1/4 (1/12 + 1/6),
// Σ S² d1 (n−d1)/n³ = 3/64 + 0 at n = 1, and 2 Σ (1/2) S d1/n² = 1/16.
func TestCumulativeIncidenceByHand(t *testing.T) {
	c, err := CumulativeIncidence(CompetingTimes{Exit: []float64{10, 20, 30, 40}, Cause: []int{1, 2, 0, 1}}, 2, IncidenceOptions{})
	must(t, err)
	for _, w := range []struct {
		cause, step int
		variance    float64
	}{{0, 0, 3.0 / 64}, {1, 0, 0}, {1, 1, 3.0 / 64}, {0, 2, 3.0 / 64}, {0, 3, 1.0/16 + 3.0/64 - 1.0/16}} {
		if got := c.SE[w.cause][w.step] * c.SE[w.cause][w.step]; !near(got, w.variance, 1e-14) {
			t.Errorf("variance of cause %d at step %d: %v, want %v", w.cause+1, w.step, got, w.variance)
		}
	}
	if p := c.At(2, 5); p.Incidence != 0 || p.SE != 0 || !math.IsNaN(p.Lower) {
		t.Errorf("before the first end: %+v", p)
	}
	if p := c.At(1, 90); p.Incidence != 0.75 {
		t.Errorf("after everybody has ended: %+v", p)
	}
	if e := c.Reaches(1, 0.5); e.Value != 40 {
		t.Errorf("half are back at %v, want 40", e.Value)
	}
	if e := c.Reaches(2, 0.5); !math.IsNaN(e.Value) || len(e.Warnings) != 1 || e.Warnings[0].Code != "not-reached" {
		t.Errorf("half gave up: %+v", e)
	}
}

// Without censoring and late entry a curve is the share that ended so far, with
// the binomial variance; incidences and the event-free sum to 1; no other cause
// leaves one less Kaplan-Meier; Greenwood's type is the sum of squared
// influences.
func TestCumulativeIncidenceIdentities(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for range 300 {
		n := 5 + r.IntN(40)
		c := randomCompeting(r, n, false)
		for i := range c.Cause {
			c.Cause[i] = 1 + c.Cause[i]%2
		}
		got, err := CumulativeIncidence(c.times(false), 2, IncidenceOptions{})
		must(t, err)
		for s, at := range got.Time {
			share := 0.0
			for i, x := range c.Exit {
				if x <= at && c.Cause[i] == 1 {
					share += 1 / float64(n)
				}
			}
			if se := math.Sqrt(share * (1 - share) / float64(n)); !near(got.Incidence[0][s], share, 1e-12) || !near(got.SE[0][s], se, 1e-7) {
				t.Fatalf("at %v: %v (%v), want %v (%v)", at, got.Incidence[0][s], got.SE[0][s], share, se)
			}
		}
		late := randomCompeting(r, n, true)
		got, err = CumulativeIncidence(late.times(true), 2, IncidenceOptions{})
		must(t, err)
		for s := range got.Time {
			if sum := got.EventFree[s] + got.Incidence[0][s] + got.Incidence[1][s]; !near(sum, 1, 1e-12) {
				t.Fatalf("incidences and the event-free sum to %v", sum)
			}
		}
		early := randomCompeting(r, n, false)
		got, err = CumulativeIncidence(early.times(false), 2, IncidenceOptions{})
		must(t, err)
		alone, err := CumulativeIncidence(early.times(false), 2, IncidenceOptions{Cluster: everyRowItself(n)})
		must(t, err)
		for k := range 2 {
			for s := range got.Time {
				if !near(got.SE[k][s]*got.SE[k][s], alone.SE[k][s]*alone.SE[k][s], 1e-12) {
					t.Fatalf("at %v: Greenwood's type %v, influences %v", got.Time[s], got.SE[k][s], alone.SE[k][s])
				}
			}
		}
	}
}

// Where everybody has ended by one cause the incidence is 1 and no more, and has
// no limits on any scale, with and without clusters. Steps of 1/7 and the like
// add up to 1 + 2e-16 or 1 − 2e-16, of which log-log limits made 0 to 1.
func TestCumulativeIncidenceOfOne(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 8))
	reached := 0
	for range 400 {
		n := 3 + r.IntN(40)
		c := randomCompeting(r, n, r.IntN(2) == 0)
		for i := range c.Cause {
			if c.Cause[i] = 1; r.IntN(4) == 0 {
				c.Cause[i] = 0
			}
		}
		for _, limits := range []string{LimitsLogLog, LimitsLog, LimitsPlain, LimitsArcsine} {
			for _, cluster := range [][]int{nil, c.Cluster} {
				got, err := CumulativeIncidence(c.times(true), 2, IncidenceOptions{Limits: limits, Cluster: cluster})
				must(t, err)
				for i, f := range got.Incidence[0] {
					lower, upper := got.Lower[0][i], got.Upper[0][i]
					switch {
					case got.EventFree[i] == 0:
						reached++
						if f != 1 || got.SE[0][i] != 0 || !math.IsNaN(lower) || !math.IsNaN(upper) {
							t.Fatalf("%s limits: incidence %v (%v), limits %v to %v, want 1 and no limits", limits, f, got.SE[0][i], lower, upper)
						}
					case math.IsNaN(got.SE[0][i]): // one cluster
					case f > 0 && !(0 <= lower && lower <= f && f <= upper && upper <= 1):
						t.Fatalf("%s limits: incidence %v, limits %v to %v", limits, f, lower, upper)
					}
				}
			}
		}
	}
	if reached == 0 {
		t.Error("no curve reached 1")
	}
	all, err := CumulativeIncidence(CompetingTimes{Exit: []float64{3, 3}, Cause: []int{1, 1}}, 1, IncidenceOptions{})
	must(t, err)
	if e := all.Reaches(1, 0.5); e.Value != 3 || !math.IsNaN(e.Lower) || !warned(e.Warnings, "limit-not-estimable") {
		t.Errorf("all at once: %+v", e)
	}
}

// While the heels of one child are the only ones at risk, clusters say nothing of
// how children vary: there is no error, neither 0 nor 1e-9, until another child
// comes in. From then on the error is the root of the summed squared derivatives by
// the children's weights.
func TestOneClusterAtRisk(t *testing.T) {
	entry, exit, cluster := []float64{0, 0, 0, 5, 5}, []float64{3, 9, 8, 8, 10}, []int{1, 1, 1, 2, 3}
	km := mustCurve(t, Times{entry, exit, []bool{true, true, true, true, false}}, CurveOptions{Cluster: cluster})
	if km.Survival[0] != 2.0/3 || !math.IsNaN(km.SE[0]) || !math.IsNaN(km.Lower[0]) || !math.IsNaN(km.Upper[0]) {
		t.Errorf("curve %v (%v), limits %v to %v", km.Survival[0], km.SE[0], km.Lower[0], km.Upper[0])
	}
	inc, err := CumulativeIncidence(CompetingTimes{entry, exit, []int{1, 2, 2, 1, 0}}, 2, IncidenceOptions{Cluster: cluster})
	must(t, err)
	if inc.Incidence[0][0] != 1.0/3 || !math.IsNaN(inc.SE[0][0]) || !math.IsNaN(inc.Lower[0][0]) || !math.IsNaN(inc.Upper[0][0]) {
		t.Errorf("incidence %v (%v), limits %v to %v", inc.Incidence[0][0], inc.SE[0][0], inc.Lower[0][0], inc.Upper[0][0])
	}
	if inc.SE[1][0] != 0 {
		t.Errorf("before the first end by the cause SE %v", inc.SE[1][0])
	}
	// On day 8, with weights w of the children, S = (1 − 1/3)(1 − (w1+w2)/(2w1+w2+w3)).
	s := func(w1, w2, w3 float64) float64 { return 2.0 / 3 * (1 - (w1+w2)/(2*w1+w2+w3)) }
	const h = 1e-6
	sum := 0.0
	for _, d := range []float64{s(1+h, 1, 1) - s(1-h, 1, 1), s(1, 1+h, 1) - s(1, 1-h, 1), s(1, 1, 1+h) - s(1, 1, 1-h)} {
		sum += d / (2 * h) * d / (2 * h)
	}
	if want := math.Sqrt(sum); !near(km.SE[1], want, 1e-8) || !(km.Lower[1] < km.Survival[1] && km.Survival[1] < km.Upper[1]) {
		t.Errorf("on day 8 SE %v, want %v; limits %v to %v", km.SE[1], want, km.Lower[1], km.Upper[1])
	}
}

func everyRowItself(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// A row cut in two, both of one cluster, is the same row.
func TestCumulativeIncidenceSplitRows(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 8))
	for range 100 {
		c := randomCompeting(r, 5+r.IntN(40), true)
		whole, err := CumulativeIncidence(c.times(true), 2, IncidenceOptions{Cluster: c.Cluster})
		must(t, err)
		var cut competingCase
		for i := range c.Exit {
			at := c.Entry[i] + math.Floor((c.Exit[i]-c.Entry[i])*r.Float64())
			if at > c.Entry[i] {
				cut.Entry, cut.Exit = append(cut.Entry, c.Entry[i]), append(cut.Exit, at)
				cut.Cause, cut.Cluster = append(cut.Cause, 0), append(cut.Cluster, c.Cluster[i])
			}
			cut.Entry, cut.Exit = append(cut.Entry, at), append(cut.Exit, c.Exit[i])
			cut.Cause, cut.Cluster = append(cut.Cause, c.Cause[i]), append(cut.Cluster, c.Cluster[i])
		}
		parts, err := CumulativeIncidence(cut.times(true), 2, IncidenceOptions{Cluster: cut.Cluster})
		must(t, err)
		for s, at := range whole.Time {
			j := slices.Index(parts.Time, at)
			for k := range 2 {
				if !near(parts.Incidence[k][j], whole.Incidence[k][s], 1e-12) || !near(parts.SE[k][j], whole.SE[k][s], 1e-7) {
					t.Fatalf("at %v: %v (%v), whole rows %v (%v)", at, parts.Incidence[k][j], parts.SE[k][j], whole.Incidence[k][s], whole.SE[k][s])
				}
			}
		}
	}
}

func TestCumulativeIncidenceRefuses(t *testing.T) {
	if _, err := CumulativeIncidence(CompetingTimes{}, 1, IncidenceOptions{}); !errors.Is(err, ErrNoData) {
		t.Errorf("no rows: %v", err)
	}
	one := CompetingTimes{Exit: []float64{3, 4}, Cause: []int{1, 0}}
	if _, err := CumulativeIncidence(one, 1, IncidenceOptions{Cluster: []int{7, 7}}); !errors.Is(err, ErrTooFewClusters) {
		t.Errorf("one cluster: %v", err)
	}
	late := CompetingTimes{Entry: []float64{0, 4}, Exit: []float64{3, 4}, Cause: []int{1, 0}}
	if _, err := CumulativeIncidence(late, 1, IncidenceOptions{}); !errors.Is(err, ErrEntryAfterExit) {
		t.Errorf("a row never at risk: %v", err)
	}
	c, err := CumulativeIncidence(CompetingTimes{Exit: []float64{3, 4}, Cause: []int{0, 0}}, 2, IncidenceOptions{})
	if err != nil || c.Incidence[0][1] != 0 || !math.IsNaN(c.Lower[0][1]) || !math.IsNaN(c.Upper[0][1]) {
		t.Errorf("nobody ended: %+v, %v", c, err)
	}
}
