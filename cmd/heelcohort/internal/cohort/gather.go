package cohort

import "heelcohort/codebook/value"

// A gather takes up the linked rows of one row.
type gather struct {
	any       bool
	count     int
	sum       float64
	undecided bool   // a condition was missing
	lacking   bool   // an amount that counts was missing
	code      string // of the first of either
}

func (g *gather) add(condition, amount value.Value) {
	switch {
	case condition.Missing:
		g.miss(condition.Code)
		g.undecided = true
	case !condition.Bool:
	case amount.Missing:
		g.miss(amount.Code)
		g.any, g.lacking = true, true
		g.count++
	default:
		g.any = true
		g.count++
		g.sum += amount.Number
	}
}

func (g *gather) miss(code string) {
	if !g.undecided && !g.lacking {
		g.code = code
	}
}

// value is the gathered result. Any is true as soon as one row is, whatever the
// others are; otherwise an undecided row leaves it missing. Counts and sums are
// missing as soon as one row is undecided, sums also when an amount is.
func (g *gather) value(how string) value.Value {
	switch how {
	case "any":
		if g.undecided && !g.any {
			return value.None(value.Bool, g.code)
		}
		return value.Truth(g.any)
	case "count":
		if g.undecided {
			return value.None(value.Number, g.code)
		}
		return value.Num(float64(g.count))
	}
	if g.undecided || g.lacking {
		return value.None(value.Number, g.code)
	}
	return value.Num(g.sum)
}
