package verdict

import (
	"math"

	"heelcohort/cmd/heelcohort/internal/result"
)

// The kinds of explanation.
const (
	KindShare       = "percent against proportion"
	KindPer         = "person-time in another unit"
	KindSwapped     = "limits swapped"
	KindInverted    = "the reference swapped"
	KindLogarithm   = "the logarithm of a ratio"
	KindComplement  = "the complement"
	KindLevel       = "another confidence level"
	KindMethod      = "another method of limits"
	KindTies        = "another handling of ties"
	KindMissing     = "another handling of missing values"
	KindOtherWhole  = "the percentage of another column or row"
	KindDenominator = "another denominator"
	KindUnit        = "another unit of analysis"
	KindAnalysis    = "another analysis"
	KindSpread      = "a standard error against a standard deviation"
	KindNeighbour   = "another column or row"
)

// A remake turns the parts of one result row into those of a change; ok is
// false where the row does not bear the change.
type remake func(row *result.Row) (parts map[string]float64, ok bool)

// changes lists the changes of a cell in the order in which they are tried: the
// likeliest first, and among them those that are few.
func (ix *index) changes(cell []bound) (list []change) {
	t := &trial{ix: ix, cell: cell}
	t.scales()
	t.swaps()
	t.levels()
	t.missing()
	t.variants()
	t.methods()
	t.wholes()
	t.otherUnits()
	t.methodsAndLevels()
	t.denominators()
	t.spreads()
	t.neighbours()
	return t.list
}

// A trial collects the changes of one cell.
type trial struct {
	ix   *index
	cell []bound
	list []change
}

// rows are the result rows of the cell, each once.
func (t *trial) rows() (rows []*result.Row) {
	for _, b := range t.cell {
		known := false
		for _, r := range rows {
			known = known || r == b.row
		}
		if !known {
			rows = append(rows, b.row)
		}
	}
	return rows
}

// try adds the change that remake makes of the rows that bear it; numbers of
// other rows and parts stay. Nothing is added where no row bears it.
func (t *trial) try(kind, text string, make remake) {
	made := map[*result.Row]map[string]float64{}
	for _, r := range t.rows() {
		if parts, ok := make(r); ok {
			made[r] = parts
		}
	}
	if len(made) == 0 {
		return
	}
	c := change{kind: kind, text: text}
	for _, b := range t.cell {
		x := b.value
		if parts, ok := made[b.row]; ok {
			if y, ok := parts[b.part]; ok {
				x = y * b.times
			}
		}
		c.values = append(c.values, x)
	}
	t.list = append(t.list, c)
}

// replace adds the change that puts another row in the place of each.
func (t *trial) replace(kind, text string, other func(*result.Row) *result.Row) {
	t.try(kind, text, func(r *result.Row) (map[string]float64, bool) {
		o := other(r)
		if o == nil {
			return nil, false
		}
		parts := map[string]float64{}
		for _, b := range t.cell {
			parts[b.part] = Part(o, b.part)
		}
		return parts, true
	})
}

// parts4 are the parts in the unit of the estimate.
func parts4(value, lower, upper, se float64) map[string]float64 {
	return map[string]float64{"value": value, "lower": lower, "upper": upper, "se": se}
}

// each applies f to the parts in the unit of the estimate.
func each(r *result.Row, f func(float64) float64) map[string]float64 {
	return parts4(f(float64(r.Estimate)), f(float64(r.Lower)), f(float64(r.Upper)), f(float64(r.SE)))
}

// turned applies a falling f, which swaps the limits.
func turned(r *result.Row, f func(float64) float64) map[string]float64 {
	p := each(r, f)
	p["lower"], p["upper"] = p["upper"], p["lower"]
	p["se"] = float64(r.SE)
	return p
}

// near reports whether two numbers are one but for rounding in floats.
func near(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-8*math.Max(math.Abs(a), math.Abs(b))
}
