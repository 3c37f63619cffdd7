package run

import (
	"math"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// hazardLimits are the limits of cumulative hazards: those of the curve, which on
// the log-log scale are log ones.
func (s *timeToEvent) hazardLimits() string {
	if s.limits == stats.LimitsLogLog {
		return stats.LimitsLog
	}
	return s.limits
}

// hazard adds one group's cumulative hazard.
func (s *timeToEvent) hazard(b *builder, g []result.Group, o *observed) {
	if !s.plan.Hazard {
		return
	}
	c, err := stats.NelsonAalen(o.Times, stats.CurveOptions{Level: b.level, Limits: s.hazardLimits(), Cluster: o.cluster, Weights: o.weight})
	if err != nil {
		r := b.row("hazard", "cumulative hazard", g...)
		r.Reason = err.Error()
		b.add(r)
		return
	}
	put := func(r result.Row, p stats.HazardPoint) {
		r.At = result.Number(p.Time)
		b.add(b.estimate(r, stats.Estimate{
			Value: p.Hazard, Lower: p.Lower, Upper: p.Upper, SE: p.SE, Level: c.Level, P: nan, Method: c.Method,
			Warnings: hazardWarning(p),
		}, nil))
	}
	for i, at := range c.Time {
		r := b.row("hazard", "cumulative hazard", g...)
		r.N, r.Events = result.Number(c.AtRisk[i]), result.Number(c.Events[i])
		put(r, stats.HazardPoint{Time: at, Hazard: c.Hazard[i], SE: c.SE[i], Lower: c.Lower[i], Upper: c.Upper[i]})
	}
	for _, at := range s.plan.At {
		put(b.row("hazard at", "cumulative hazard", g...), c.At(at))
	}
}

// hazardWarning is the reason for absent limits of a cumulative hazard, or for
// no value.
func hazardWarning(p stats.HazardPoint) []stats.Warning {
	switch {
	case math.IsNaN(p.Hazard):
		return limitWarning(p.Hazard, p.Lower)
	case p.Hazard == 0 && math.IsNaN(p.Lower):
		return []stats.Warning{{Code: "limit-not-estimable", Text: "No event had come yet: there are no limits."}}
	case math.IsNaN(p.Lower):
		return []stats.Warning{{Code: "limit-not-estimable", Text: "Only one cluster had been at risk at events: there are no limits."}}
	}
	return nil
}
