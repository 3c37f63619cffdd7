package run

import (
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// restricted adds the restricted mean time of each group and its difference from
// that of the reference.
func (s *timeToEvent) restricted(b *builder, o *observed, groups []int, names [][]result.Group) {
	horizon := *s.plan.Horizon
	b.set("horizon", shortNumber(horizon), true)
	b.Methods += " Restricted mean times are areas under the curve up to " + shortNumber(horizon) + " " + s.unit + "; their differences have symmetric limits."
	b.cite("Royston 2013")
	rows := make([]observed, len(names))
	for i := range o.row {
		rows[groups[i]].take(o, i)
	}
	for g, name := range names {
		r := b.row("restricted", "restricted mean time", name...)
		r.At, r.Unit, r.N = result.Number(horizon), s.unit, result.Number(len(rows[g].row))
		c, err := stats.KaplanMeier(rows[g].Times, stats.CurveOptions{Level: b.level, Limits: s.limits, Cluster: rows[g].cluster})
		if err != nil {
			r.Reason = err.Error()
			b.add(r)
			continue
		}
		b.add(b.estimate(r, c.RestrictedMean(horizon), nil))
	}
	if s.by == nil {
		return
	}
	levels, reference := s.by.variable.Levels(), s.by.reference
	for g := range names {
		if g == reference {
			continue
		}
		r := b.row("restricted", "restricted mean difference")
		r.Variable, r.Term = s.by.variable.Name, levels[g]+" vs "+levels[reference]
		r.At, r.Unit = result.Number(horizon), s.unit
		e, err := stats.RestrictedMeanDifference(rows[g].Times, rows[reference].Times, horizon, stats.RestrictedMeanOptions{
			Level: b.level, OneCluster: rows[g].cluster, ZeroCluster: rows[reference].cluster,
		})
		b.add(b.estimate(r, e, err))
	}
}
