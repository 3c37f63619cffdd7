package run

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

const (
	// muchInflated is the variance inflation factor from which little of a term
	// is left that the others do not tell (common practice).
	muchInflated = 10
	// muchMoved is the change of a coefficient without one row or cluster, in
	// standard errors, from which a reader should know of it.
	muchMoved = 1
)

// checks adds what the model can bear: how much its terms tell of each other,
// and how far one row or cluster alone moves the exposure's coefficients.
func (s *association) checks(b *builder, d *design, outcome []value.Value, cluster []int, f stats.Fit, fitErr error) {
	if len(s.adjust) > 0 {
		s.collinearity(b, d)
	}
	if s.fitting.family != logisticFamily || fitErr != nil {
		return
	}
	list, err := stats.LogisticInfluence(d.x, yesOf(outcome), f, stats.InfluenceOptions{Cluster: cluster})
	unit := "row"
	if cluster != nil {
		unit = "cluster"
	}
	for _, j := range d.columnsOf(s.exposure.variable.Name) {
		r := b.row("checks", "largest change without one "+unit)
		r.Variable, r.Term = d.columns[j].variable, d.columns[j].level
		if err != nil {
			r.Reason = err.Error()
			b.add(r)
			continue
		}
		largest := 0.0
		for _, one := range list {
			if one.Change == nil {
				largest = math.NaN()
				break
			}
			largest = math.Max(largest, math.Abs(one.Change[j+1])/f.SE[j+1])
		}
		r.N, r.Unit = result.Number(len(list)), "standard errors"
		if largest > muchMoved {
			r.Warnings = append(r.Warnings, fmt.Sprintf("Without one %s the log odds ratio moves by more than a standard error.", unit))
		}
		b.add(number(r, largest, "without one "+unit+" the coefficients cannot be told"))
	}
}

// collinearity adds the variance inflation factor of each term.
func (s *association) collinearity(b *builder, d *design) {
	var x [][]float64
	var names []string
	var groups [][]int
	at := 0
	terms := append([]term{s.exposure}, s.adjust...)
	var order []int
	for _, t := range terms {
		var own []int
		for _, j := range d.columnsOf(t.variable.Name) {
			own = append(own, at)
			order = append(order, j)
			at++
		}
		if own != nil {
			names, groups = append(names, t.variable.Name), append(groups, own)
		}
	}
	if len(names) < 2 {
		return
	}
	for _, row := range d.x {
		z := make([]float64, len(order))
		for k, j := range order {
			z[k] = row[j]
		}
		x = append(x, z)
	}
	list, err := stats.VarianceInflation(x, names, groups)
	for k, name := range names {
		r := b.row("checks", "variance inflation factor")
		r.Variable, r.N = name, result.Number(len(x))
		if err != nil {
			r.Reason = err.Error()
			b.add(r)
			continue
		}
		if list[k].Factor > muchInflated {
			r.Warnings = append(r.Warnings, "Little of this term is left that the others do not tell: its ratio has wide limits and rests on the model.")
		}
		b.add(number(r, list[k].Factor, ""))
	}
}
