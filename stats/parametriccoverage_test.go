package stats

import (
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// Limits of the time ratio, the median and the survival at a time, with times
// between visits, late entry and ends of observation, hold the truth in about
// 95 of 100 samples: of 120 the share has a standard error of 2 points, of 600 one of
// 0.9.
func TestParametricLimitsHoldTheTruth(t *testing.T) {
	const n, beta, sigma = 120, 0.4, 0.6
	samples, least := 120, 0.89
	if os.Getenv(crosscheckEnv) == "1" {
		samples, least = 600, 0.92
	}
	r := rand.New(rand.NewPCG(77, 1))
	for _, d := range []LifetimeDistribution{Weibull, LogNormal, LogLogistic} {
		law := d.law()
		median := math.Exp(3 + beta + sigma*law.quantile(0.5))
		tail, _, _ := law.above((math.Log(25) - 3 - beta) / sigma)
		held := [3]int{}
		for range samples {
			var v EnteredIntervals
			var x [][]float64
			for len(x) < n {
				a := float64(len(x) % 2)
				at := math.Exp(3 + beta*a + sigma*law.quantile(r.Float64()))
				entry := 0.0
				if r.IntN(3) == 0 {
					entry = 10 * r.Float64()
				}
				if at <= entry {
					continue // never seen
				}
				left, right := at, at
				if end := 20 + 60*r.Float64(); end < at {
					left, right = end, math.Inf(1)
				} else if r.IntN(2) == 0 {
					left = entry + math.Floor((at-entry)/7)*7
					right = left + 7
				}
				v.Entry, v.Left, v.Right, x = append(v.Entry, entry), append(v.Left, left), append(v.Right, right), append(x, []float64{a})
			}
			f, err := FitParametricSurvival(v, x, []string{"a"}, d, ParametricOptions{})
			must(t, err)
			for k, c := range []struct {
				e     Estimate
				truth float64
			}{
				{f.Estimates[0], math.Exp(beta)},
				{f.Quantile([]float64{1}, 0.5, 0), median},
				{f.Survival([]float64{1}, 25, 0), math.Exp(tail)},
			} {
				if c.e.Lower <= c.truth && c.truth <= c.e.Upper {
					held[k]++
				}
			}
		}
		for k, what := range []string{"time ratio", "median", "survival"} {
			if share := float64(held[k]) / float64(samples); share < least || share > 0.995 {
				t.Errorf("%s, %s: %.3f of the limits hold the truth", d, what, share)
			}
		}
	}
}

// Errors of occupancy and of expected times against how they vary over samples
// of children whose changes depend on each other through the child.
func TestOccupancyErrorsHold(t *testing.T) {
	r := rand.New(rand.NewPCG(78, 1))
	const samples, children, horizon = 400, 60, 20.0
	var shares, times, shareErrors, timeErrors []float64
	for range samples {
		var rows StateTimes
		for id := range children {
			pace := math.Exp(0.5 * r.NormFloat64())
			at, state := 0.0, 0
			end := 15 + 20*r.Float64()
			for at < end {
				exit, to := at+r.ExpFloat64()*8/pace, 1-state
				if state == 0 && r.IntN(5) == 0 {
					to = 2
				}
				if exit > end {
					exit, to = end, StayedIn
				}
				rows.ID, rows.Entry, rows.Exit = append(rows.ID, id), append(rows.Entry, at), append(rows.Exit, exit)
				rows.From, rows.To = append(rows.From, state), append(rows.To, to)
				if at = exit; to == 2 || to == StayedIn {
					break
				}
				state = to
			}
		}
		o, err := StateOccupancy(rows, stateNames[:3], StateOptions{})
		must(t, err)
		p, e := o.At(1, 12), o.TimeInStates(horizon)[1]
		shares, shareErrors = append(shares, p.Occupancy), append(shareErrors, p.SE)
		times, timeErrors = append(times, e.Value), append(timeErrors, e.SE)
	}
	for what, pair := range map[string][2][]float64{"share": {shares, shareErrors}, "time": {times, timeErrors}} {
		_, sd := meanSD(pair[0])
		mean, _ := meanSD(pair[1])
		if ratio := mean / sd; ratio < 0.9 || ratio > 1.1 { // an SD of 400 has an error of 3.5%
			t.Errorf("%s: mean error %v, they vary by %v", what, mean, sd)
		}
	}
}
