package stats

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// Limits of probabilities hold the estimate, lie in 0 to 1 and have some width,
// or are not there at all: with few rows, late entry, clusters of up to all of
// them, and on every scale. Limits without width came of errors of 0 and of
// rounding. What rounds may be off by 1e-12.
func TestLimitsAreSound(t *testing.T) {
	r := rand.New(rand.NewPCG(45, 2))
	seen := 0
	for i := range 3000 {
		c := randomIdentityCase(r, 4+r.IntN(12), i%2 == 0)
		for k := range c.cluster {
			c.cluster[k] = r.IntN(2 + i%4)
		}
		sound := func(what string, value, lower, upper float64) {
			t.Helper()
			if math.IsNaN(value) || math.IsNaN(lower) && math.IsNaN(upper) {
				return
			}
			seen++
			if value <= 0 || value >= 1 {
				if lower == 1 && upper == 1 && value == 1 {
					return // a curve before its first event, on scales other than log-log
				}
				t.Fatalf("case %d, %s: limits %v to %v of %v", i, what, lower, upper, value)
			}
			if !(0 <= lower && lower <= value+1e-12 && value <= upper+1e-12 && upper <= 1 && upper-lower > 1e-6) {
				t.Fatalf("case %d, %s: limits %v to %v of %v\n%+v", i, what, lower, upper, value, c)
			}
		}
		times := c.competing().onlyCause(1)
		for _, limits := range []string{LimitsLogLog, LimitsLog, LimitsPlain, LimitsArcsine} {
			for k, cluster := range [][]int{nil, c.cluster} {
				words := fmt.Sprintf("%s, %d", limits, k)
				curve, err := KaplanMeier(times, CurveOptions{Limits: limits, Cluster: cluster})
				if errors.Is(err, ErrTooFewClusters) {
					continue
				}
				must(t, err)
				for s := range curve.Time {
					sound("curve, "+words, curve.Survival[s], curve.Lower[s], curve.Upper[s])
				}
				incidence, err := CumulativeIncidence(c.competing(), 2, IncidenceOptions{Limits: limits, Cluster: cluster})
				must(t, err)
				for s := range incidence.Time {
					for cause := range 2 {
						sound("incidence, "+words, incidence.Incidence[cause][s], incidence.Lower[cause][s], incidence.Upper[cause][s])
					}
				}
				e := curve.RestrictedMean(8)
				sound("restricted mean over its horizon, "+words, e.Value/8, e.Lower/8, e.Upper/8)
				if q := curve.Quantile(0.5); q.Value < q.Lower || q.Value > q.Upper {
					t.Fatalf("case %d, median %v, limits %v to %v", i, q.Value, q.Lower, q.Upper)
				}
				if q := incidence.Reaches(1, 0.4); q.Value < q.Lower || q.Value > q.Upper {
					t.Fatalf("case %d, time to an incidence %v, limits %v to %v", i, q.Value, q.Lower, q.Upper)
				}
			}
			rows := StateTimes{ID: everyRowItself(len(c.exit)), Entry: c.entry, Exit: c.exit, From: make([]int, len(c.exit)), To: make([]int, len(c.exit))}
			for k, cause := range c.cause {
				if rows.To[k] = cause; cause == 0 {
					rows.To[k] = StayedIn
				}
			}
			o, err := StateOccupancy(rows, stateNames[:3], StateOptions{Cluster: c.cluster, Limits: limits})
			if err == nil {
				for s := range o.Time {
					for state := range 3 {
						p := o.Occupancy[state][s]
						if p < 1e-12 || p > 1-1e-12 {
							p = math.Round(p)
						}
						sound("occupancy, "+limits, p, o.Lower[state][s], o.Upper[state][s])
					}
				}
			}
		}
	}
	if seen < 100000 {
		t.Errorf("only %d limits", seen)
	}
}
