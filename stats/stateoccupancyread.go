package stats

import (
	"fmt"
	"math"
	"sort"
)

// An OccupancyPoint is a probability of a state read at one time.
type OccupancyPoint struct {
	Time         float64
	Occupancy    float64
	SE           float64
	Lower, Upper float64
}

// At reads the curve of a state at a time: the value of the last step at or
// before it, before the first that of the start, whose SE is 0 where it was
// given. Before From and after Until all are NaN.
func (o StateOccupancies) At(state int, t float64) OccupancyPoint {
	p := OccupancyPoint{Time: t, Occupancy: math.NaN(), SE: math.NaN(), Lower: math.NaN(), Upper: math.NaN()}
	i := sort.Search(len(o.Time), func(i int) bool { return o.Time[i] > t }) - 1
	switch {
	case !(t >= o.From && t <= o.Until):
	case i >= 0:
		p.Occupancy, p.SE, p.Lower, p.Upper = o.Occupancy[state][i], o.SE[state][i], o.Lower[state][i], o.Upper[state][i]
	default:
		p.Occupancy, p.SE = o.Start[state], stateStep{influence: o.source.firstInfluence()}.se(state)
	}
	return p
}

// TimeInStates are the expected times in each state from the start of the
// curves up to a horizon,
//
//	∫ from From to horizon of p_j(t) dt
//
// which sum to horizon − From. The error is the infinitesimal jackknife's: the
// root of the summed squares of the clusters' integrated influences. Limits are
// symmetric and held to 0 and horizon − From; a time of 0 or all of it has none,
// and the warning no-limits. Values are NaN with the warning
// horizon-beyond-data where the curves are not known up to the horizon; where
// they end with everything in states nobody leaves, they go on. A horizon that is
// not after From, or not finite, is the caller's mistake.
func (o StateOccupancies) TimeInStates(horizon float64) []Estimate {
	if !(horizon > o.From) || math.IsInf(horizon, 1) {
		panic(fmt.Sprintf("stats: horizon %v, expected a finite time after %v", horizon, o.From))
	}
	k := len(o.States)
	out := make([]Estimate, k)
	for j, state := range o.States {
		out[j] = Estimate{
			Measure: "expected time in state", Term: state, Value: math.NaN(), Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(),
			Level: o.Level, P: math.NaN(), Method: "symmetric limits, " + clusterMethod(false),
		}
		if horizon > o.Until {
			out[j].Warnings = []Warning{beyondData(horizon)}
		}
	}
	if horizon > o.Until {
		return out
	}
	w := o.source
	p, influence := append([]float64(nil), w.start...), w.firstInfluence()
	areas, moved := make([]float64, k), newMatrix(w.clusters, k)
	at := o.From
	until := func(to float64) {
		for j := range areas {
			areas[j] += float64((to - at) * p[j])
		}
		for c, u := range influence {
			for j, v := range u {
				moved[c][j] += float64((to - at) * v)
			}
		}
		at = to
	}
	w.run(horizon, func(s stateStep) {
		until(s.at)
		copy(p, s.p)
		for c, u := range s.influence {
			copy(influence[c], u)
		}
	})
	until(horizon)
	z := criticalZ(o.Level)
	for j := range out {
		e := &out[j]
		e.Value, e.SE = areas[j], stateStep{influence: moved}.se(j)
		if slack := occupancySlack * (horizon - o.From); e.Value <= slack || e.Value >= horizon-o.From-slack {
			e.Warnings = append(e.Warnings, Warning{"no-limits", "Nobody, or everybody, was in the state all the time: there are no limits."})
			continue
		}
		e.Lower = math.Max(0, e.Value-float64(z*e.SE))
		e.Upper = math.Min(horizon-o.From, e.Value+float64(z*e.SE))
	}
	return out
}
