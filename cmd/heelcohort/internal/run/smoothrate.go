package run

import (
	"errors"
	"math"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// gridSteps is about the number of steps of a smooth curve: finer is not seen.
const gridSteps = 60

// smooth adds the rates along the terms with a spline or a season: marginal
// rates were everybody at each point of a grid, other terms as observed.
func (s *incidence) smooth(b *builder, d *design, f stats.Fit, time []float64, fitErr error) {
	said := false
	for _, t := range s.model.terms {
		if t.shape == nil {
			continue
		}
		row := func(x float64) result.Row {
			r := b.row("smooth", "marginal rate")
			r.Variable, r.Unit = t.variable.Name, s.perUnit()
			if !math.IsNaN(x) {
				r.At = result.Number(x)
			}
			return r
		}
		if fitErr != nil {
			r := row(math.NaN())
			r.Reason = fitErr.Error()
			b.add(r)
			continue
		}
		if !said {
			b.Methods += " Curves along a number are rates that the model predicts were everybody at that value, averaged over the other terms " +
				"as observed, weighted by person-time, with pointwise limits by the delta method on the log scale; they run over the values that occur."
			b.cite("Lane 1982")
			said = true
		}
		opts := stats.MarginalOptions{Level: b.level, Per: s.per}
		grid := t.shape.grid()
		values := make([][]float64, len(grid))
		for i, x := range grid {
			values[i] = t.shape.row(x)
		}
		var columns []int
		for j, c := range d.columns {
			if c.variable == t.variable.Name {
				columns = append(columns, j)
			}
		}
		curve, err := stats.MarginalCurve(f, d.x, time, columns, values, opts)
		if err != nil {
			r := row(math.NaN())
			r.Reason = err.Error()
			b.add(r)
			continue
		}
		for i, x := range grid {
			var none error
			if t.shape.season != nil && !s.seasonAtRisk(t, x) {
				none = errNobody
			}
			b.add(b.estimate(row(x), curve[i], none))
		}
	}
}

var errNobody = errors.New("nobody was at risk here")

// seasonAtRisk reports whether a point of a cycle lies where anybody was at
// risk: in a piece of the season with time, or in a table of counts between the
// least and the largest value of the cycle.
func (s *incidence) seasonAtRisk(t term, x float64) bool {
	if t.cycle {
		return s.model.cycle.atRisk(x)
	}
	return t.shape.least <= x && x <= t.shape.most
}

// grid are the points of a curve: round numbers between the least and the
// largest value of a spline and those two, and a whole cycle of a season, where
// points at which nobody was at risk have no rate.
func (h *shape) grid() []float64 {
	from, to := h.least, h.most
	if h.season != nil {
		from, to = 0, h.season.Period
	}
	step := roundStep((to - from) / gridSteps)
	points := []float64{from}
	for k := math.Floor(from/step) + 1; k*step < to-1e-9*step; k++ {
		if x := k * step; x > from+1e-9*step {
			points = append(points, roundTo(x, step))
		}
	}
	return append(points, to)
}

// roundStep is the least of 1, 2, 2.5 and 5 times a power of ten that is not
// below x.
func roundStep(x float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(x)))
	for _, k := range []float64{1, 2, 2.5, 5} {
		if k*unit >= x*(1-1e-12) {
			return k * unit
		}
	}
	return 10 * unit
}

// roundTo takes the rounding of a multiple of a step off.
func roundTo(x, step float64) float64 {
	digits := math.Pow(10, 2-math.Floor(math.Log10(step)))
	return math.Round(x*digits) / digits
}
