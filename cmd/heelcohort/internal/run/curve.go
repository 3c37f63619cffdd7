package run

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// curve adds one group's rows.
func (s *timeToEvent) curve(b *builder, g []result.Group, o *observed, ticks []float64) {
	t := o.Times
	events := 0
	for _, had := range t.Status {
		if had {
			events++
		}
	}
	r := b.row("size", "rows", g...)
	r.Events, r.Censored = result.Number(events), result.Number(len(t.Exit)-events)
	b.add(number(r, float64(len(t.Exit)), ""))
	c, err := stats.KaplanMeier(t, stats.CurveOptions{Level: b.level, Limits: s.limits, Cluster: o.cluster, Weights: o.weight})
	quantile := b.row("quantile", "median time", g...)
	quantile.Unit = s.unit
	if err != nil {
		quantile.Reason = err.Error()
		b.add(quantile)
		return
	}
	for i, at := range c.Time {
		r := b.row("curve", "survival", g...)
		r.At, r.N, r.Unit = result.Number(at), result.Number(c.AtRisk[i]), ""
		r.Events, r.Censored = result.Number(c.Events[i]), result.Number(c.Censored[i])
		b.add(b.estimate(r, stats.Estimate{
			Value: c.Survival[i], Lower: c.Lower[i], Upper: c.Upper[i], SE: c.SE[i], Level: c.Level, P: nan, Method: c.Method,
			Warnings: limitWarning(c.Survival[i], c.Lower[i]),
		}, nil))
	}
	s.band(b, g, c)
	s.hazard(b, g, o)
	b.add(b.estimate(quantile, c.Quantile(0.5), nil))
	for _, p := range s.plan.Quantiles {
		r := b.row("quantile", "time by which a share has had the event", g...)
		r.Term, r.Unit = shortNumber(p), s.unit
		b.add(b.estimate(r, c.Quantile(p), nil))
	}
	for _, at := range s.plan.At {
		r := b.row("at", "survival", g...)
		p := c.At(at)
		r.At, r.N, r.Unit = result.Number(at), result.Number(p.AtRisk), ""
		b.add(b.estimate(r, stats.Estimate{
			Value: p.Survival, Lower: p.Lower, Upper: p.Upper, SE: p.SE, Level: c.Level, P: nan, Method: c.Method,
			Warnings: limitWarning(p.Survival, p.Lower),
		}, nil))
	}
	atRisk, had, censored := c.RiskTable(ticks)
	for i, at := range ticks {
		r := b.row("risk-table", "at risk", g...)
		r.At, r.N = result.Number(at), result.Number(atRisk[i])
		r.Events, r.Censored = result.Number(had[i]), result.Number(censored[i])
		b.add(number(r, float64(atRisk[i]), ""))
	}
	for _, w := range c.Warnings {
		b.warn(b.groupName(g) + w.Text)
	}
}

// limitWarning is the reason for absent limits of a curve, or for no value.
func limitWarning(survival, lower float64) []stats.Warning {
	switch {
	case math.IsNaN(survival):
		return []stats.Warning{{Code: "not-observed", Text: "Nobody was under observation any more: the curve ends before."}}
	case math.IsNaN(lower):
		return []stats.Warning{{Code: "limit-not-estimable", Text: fmt.Sprintf("The limits are undefined where the curve is %g.", survival)}}
	}
	return nil
}

// bandWords are the sorts of bands, as the plan names them.
var bandWords = []chosen[stats.BandKind]{
	{"hall-wellner", stats.HallWellner, "Hall-Wellner", "Hall and Wellner's", []string{"Hall 1980"}},
	{"equal-precision", stats.EqualPrecision, "equal precision", "equal-precision", []string{"Nair 1984"}},
}

// band adds the limits that hold one group's whole curve.
func (s *timeToEvent) band(b *builder, g []result.Group, c stats.Curve) {
	if s.plan.Bands == "" {
		return
	}
	choice := choose(bandWords, s.plan.Bands)
	band, err := c.Band(stats.BandOptions{Kind: choice.method})
	if err != nil {
		r := b.row("band", "survival", g...)
		r.Reason = err.Error()
		b.add(r)
		return
	}
	for i, at := range band.Time {
		r := b.row("band", "survival", g...)
		r.At = result.Number(at)
		b.add(b.estimate(r, stats.Estimate{
			Value: c.At(at).Survival, Lower: band.Lower[i], Upper: band.Upper[i], SE: nan, Level: band.Level, P: nan, Method: band.Method,
		}, nil))
	}
}
