package run

import (
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// influence adds how far each coefficient moves, to first order, without the row
// or the cluster that moves it most.
func (s *timeToEvent) influence(b *builder, rows *fittedRows, f stats.Fit) {
	unit, of := "row", rows.row // pieces of a row are left out together
	if rows.cox.Cluster != nil {
		unit, of = "cluster", rows.cox.Cluster
	}
	change := f.CoxResiduals().DFBeta
	for j, c := range rows.design.columns {
		if slices.Contains(rows.design.shaped, j) {
			continue // a column of a spline
		}
		sums := map[int]float64{}
		for i, id := range of {
			sums[id] += change[i][j]
		}
		largest := 0.0
		for _, sum := range sums {
			largest = math.Max(largest, math.Abs(sum)/f.SE[j])
		}
		r := b.row("checks", "largest change without one "+unit)
		r.Variable, r.Term, r.Unit, r.N = c.variable, c.level, "standard errors", result.Number(len(sums))
		r.Method = "score residuals times the inverse information, first order"
		if largest > muchMoved {
			r.Warnings = append(r.Warnings, fmt.Sprintf("Without one %s the log hazard ratio moves by more than a standard error.", unit))
		}
		b.add(number(r, largest, ""))
	}
	b.Methods += " How far a coefficient moves without the " + unit + " that moves it most comes from score residuals, to first order."
	b.cite("Therneau 1990")
}
