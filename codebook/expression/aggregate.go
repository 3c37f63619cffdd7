package expression

import (
	"heelcohort/codebook/value"
)

// An aggregate is one function of the rows of a group.
type aggregate struct {
	Function
	least, most int          // number of arguments, at most one
	kinds       []value.Kind // of the argument; nil is any
	build       func(arg term) (value.Kind, foldFunc)
}

var amounts = []value.Kind{value.Number, value.Date}

// aggregates lists them by name.
var aggregates = []aggregate{
	{Function{"all", "all(condition)", "Whether a condition holds in every row; false as soon as it is false in one, else missing where it is missing in one."}, 1, 1, []value.Kind{value.Bool}, buildTruths(false)},
	{Function{"any", "any(condition)", "Whether a condition holds in a row; true as soon as it is true in one, else missing where it is missing in one."}, 1, 1, []value.Kind{value.Bool}, buildTruths(true)},
	{Function{"count", "count(condition)", "The number of rows in which a condition holds; missing where it is missing in a row. count() is the number of all rows."}, 0, 1, []value.Kind{value.Bool}, buildCount},
	{Function{"distinct", "distinct(x)", "The number of different values of x; missing where x is missing in a row."}, 1, 1, nil, buildDistinct},
	{Function{"max", "max(x)", "The greatest of numbers or of dates; missing where x is missing in a row."}, 1, 1, amounts, buildExtreme(func(x, y float64) bool { return x > y })},
	{Function{"mean", "mean(x)", "The arithmetic mean of numbers; missing where x is missing in a row."}, 1, 1, amounts[:1], buildMeanOfRows},
	{Function{"min", "min(x)", "The least of numbers or of dates; missing where x is missing in a row."}, 1, 1, amounts, buildExtreme(func(x, y float64) bool { return x < y })},
	{Function{"sum", "sum(x)", "The sum of numbers, to 15 digits; missing where x is missing in a row."}, 1, 1, amounts[:1], buildSumOfRows},
}

// Aggregates lists the aggregates by name. The rest of an expression on a
// group, outside and inside of them, is that of an expression on a row.
func Aggregates() []Function {
	list := make([]Function, len(aggregates))
	for i, a := range aggregates {
		list[i] = a.Function
	}
	return list
}

// buildTruths builds any (decided by true) and all (decided by false).
func buildTruths(decides bool) func(term) (value.Kind, foldFunc) {
	return func(arg term) (value.Kind, foldFunc) {
		return value.Bool, func(n int, at func(int) Row) value.Value {
			missing := gap{}
			for k := range n {
				b, g := arg.truth(at(k))
				switch {
				case g.missing && !missing.missing:
					missing = g
				case !g.missing && b == decides:
					return value.Truth(decides)
				}
			}
			if missing.missing {
				return value.None(value.Bool, missing.code)
			}
			return value.Truth(!decides)
		}
	}
}

func buildCount(arg term) (value.Kind, foldFunc) {
	if arg.truth == nil {
		return value.Number, func(n int, _ func(int) Row) value.Value { return value.Num(float64(n)) }
	}
	return value.Number, func(n int, at func(int) Row) value.Value {
		count := 0.0
		for k := range n {
			b, g := arg.truth(at(k))
			if g.missing {
				return value.None(value.Number, g.code)
			}
			if b {
				count++
			}
		}
		return value.Num(count)
	}
}

func buildDistinct(arg term) (value.Kind, foldFunc) {
	return value.Number, func(n int, at func(int) Row) value.Value {
		seen := map[value.Value]bool{}
		for k := range n {
			v := arg.eval(at(k))
			if v.Missing {
				return value.None(value.Number, v.Code)
			}
			seen[v] = true
		}
		return value.Num(float64(len(seen)))
	}
}

// buildExtreme builds min and max.
func buildExtreme(beats func(x, y float64) bool) func(term) (value.Kind, foldFunc) {
	return func(arg term) (value.Kind, foldFunc) {
		return arg.kind, func(n int, at func(int) Row) value.Value {
			best := 0.0
			for k := range n {
				x, g := arg.number(at(k))
				if g.missing {
					return value.None(arg.kind, g.code)
				}
				if k == 0 || beats(x, best) {
					best = x
				}
			}
			return value.Value{Kind: arg.kind, Number: best}
		}
	}
}

func buildSumOfRows(arg term) (value.Kind, foldFunc) {
	return value.Number, func(n int, at func(int) Row) value.Value {
		var sum value.Sum
		for k := range n {
			x, g := arg.number(at(k))
			if g.missing {
				return value.None(value.Number, g.code)
			}
			sum.Add(x)
		}
		return value.Num(sum.Value())
	}
}

func buildMeanOfRows(arg term) (value.Kind, foldFunc) {
	_, sum := buildSumOfRows(arg)
	return value.Number, func(n int, at func(int) Row) value.Value {
		v := sum(n, at)
		if v.Missing {
			return v
		}
		return value.Num(v.Number / float64(n))
	}
}
