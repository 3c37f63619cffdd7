package run

import (
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// frailtyPart is the part of the model with a frailty.
const frailtyPart = "frailty model"

// sharedFrailty adds the model with a frailty shared by the rows of a cluster.
func (s *timeToEvent) sharedFrailty(b *builder, rows *fittedRows) {
	if !s.plan.Model.Frailty {
		return
	}
	b.set("frailty", "gamma, shared by the rows of one "+s.cluster.Name, true)
	b.Methods += " A second model has a gamma frailty shared by the rows of one " + lowerLabel(*s.cluster) +
		": its hazard ratios compare rows of the same frailty, and its variance says how far hazards differ between them."
	b.cite("Therneau 2003", "Nielsen 1992")
	d := rows.design
	f, err := stats.FitCoxFrailty(rows.Times, rows.cox.Cluster, d.x, d.names(), stats.FrailtyOptions{
		Ties: rows.cox.Ties, Level: rows.cox.Level, Strata: rows.cox.Strata,
	})
	f.Fit = rows.add(b, frailtyPart, "hazard ratio", f.Fit, err)
	if err == nil {
		b.frailty(frailtyPart, "Kendall's tau of two rows of one "+lowerLabel(*s.cluster), f)
	}
}

// frailty adds how far hazards differ between the clusters of a fit, and how
// alike the times within one are.
func (b *builder) frailty(part, tau string, f stats.FrailtyFit) {
	r := b.row(part, "frailty variance")
	r.N = result.Number(f.Clusters)
	b.add(b.estimate(r, f.Variance, nil))
	b.add(number(b.row(part, tau), f.Tau, ""))
}
