package expression

import (
	"math"
	"strconv"

	"heelcohort/codebook/value"
)

// numberFunctions compute numbers from numbers; all but between take or give
// no other kind than numbers and dates.
var numberFunctions = []function{
	{Function{"abs", "abs(x)", "The absolute value of a number."}, 1, 1, single(math.Abs)},
	{Function{"ceil", "ceil(x)", "The least integer that is not less than x."}, 1, 1, single(math.Ceil)},
	{Function{"exp", "exp(x)", "e to the power x; missing where the result is too large."}, 1, 1, single(math.Exp)},
	{Function{"floor", "floor(x)", "The greatest integer that is not greater than x."}, 1, 1, single(math.Floor)},
	{Function{"log", "log(x)", "The natural logarithm; missing where x is not positive."}, 1, 1, single(math.Log)},
	{Function{"sqrt", "sqrt(x)", "The square root; missing where x is negative."}, 1, 1, single(math.Sqrt)},
	{Function{"difference", "difference(a, b)", "a - b, of two numbers, or of two dates as a number of days."}, 2, 2, buildDifference},
	{Function{"between", "between(x, low, high)", "Whether low <= x <= high, of numbers or of dates, both ends included; missing where any of the three is."}, 3, 3, buildBetween},
	{Function{"min", "min(a, b, ...)", "The least of numbers or of dates; missing where any is."}, 2, -1, extreme(math.Min)},
	{Function{"max", "max(a, b, ...)", "The greatest of numbers or of dates; missing where any is."}, 2, -1, extreme(math.Max)},
	{Function{"sum", "sum(a, b, ...)", "The sum of numbers; missing where any is."}, 2, -1, buildSum},
	{Function{"mean", "mean(a, b, ...)", "The arithmetic mean of numbers; missing where any is."}, 2, -1, buildMean},
	{Function{"count_true", "count_true(a, b, ...)", "How many of the conditions are true; missing where any is."}, 1, -1, buildCountTrue},
	{Function{"round", "round(x, digits)", "x rounded to a number of decimal digits from 0 to 15, 0 where digits is left out. " +
		"The shortest decimal form of x is rounded, halves away from zero: round(2.675, 2) is 2.68."}, 1, 2, buildRound},
}

// single makes the builder of a function of one number.
func single(f func(float64) float64) func(call) (term, error) {
	return func(c call) (term, error) {
		if err := c.argument(0, value.Number); err != nil {
			return term{}, err
		}
		return numeric(apply(c.args[0].number, f)), nil
	}
}

// numeric is a term that gives a number.
func numeric(f numberFunc) term { return term{kind: value.Number, number: f} }

// apply is f of a number, missing where f is not finite.
func apply(x numberFunc, f func(float64) float64) numberFunc {
	return func(row Row) (float64, gap) {
		v, g := x(row)
		if g.missing {
			return 0, g
		}
		return finite(f(v))
	}
}

func buildDifference(c call) (term, error) {
	if err := c.same(value.Number, value.Date); err != nil {
		return term{}, err
	}
	return numeric(strict(c.args[0].number, c.args[1].number, operations["-"])), nil
}

func buildBetween(c call) (term, error) {
	if err := c.same(value.Number, value.Date); err != nil {
		return term{}, err
	}
	low, high := c.args[1].literal, c.args[2].literal
	if low != nil && high != nil && low.Number > high.Number {
		return term{}, c.fault(c.args[2].at, "found %v after %v, expected the greater bound last: %s", *high, *low, c.signature())
	}
	list := c.numbers()
	return term{kind: value.Bool, truth: func(row Row) (bool, gap) {
		var x [3]float64
		for i, f := range list {
			v, g := f(row)
			if g.missing {
				return false, g
			}
			x[i] = v
		}
		return x[1] <= x[0] && x[0] <= x[2], gap{}
	}}, nil
}

// extreme makes the builder of min and max.
func extreme(f func(x, y float64) float64) func(call) (term, error) {
	return func(c call) (term, error) {
		if err := c.same(value.Number, value.Date); err != nil {
			return term{}, err
		}
		return term{kind: c.args[0].kind, number: fold(c.numbers(), f)}, nil
	}
}

// fold joins numbers from left to right; it is missing where any is.
func fold(list []numberFunc, f func(x, y float64) float64) numberFunc {
	return func(row Row) (float64, gap) {
		total, g := list[0](row)
		if g.missing {
			return 0, g
		}
		for _, next := range list[1:] {
			x, g := next(row)
			if g.missing {
				return 0, g
			}
			total = f(total, x)
		}
		return finite(total)
	}
}

func buildSum(c call) (term, error) {
	if err := c.same(value.Number); err != nil {
		return term{}, err
	}
	return numeric(fold(c.numbers(), operations["+"])), nil
}

func buildMean(c call) (term, error) {
	if err := c.same(value.Number); err != nil {
		return term{}, err
	}
	n := float64(len(c.args))
	return numeric(apply(fold(c.numbers(), operations["+"]), func(sum float64) float64 { return sum / n })), nil
}

func buildCountTrue(c call) (term, error) {
	for i := range c.args {
		if err := c.argument(i, value.Bool); err != nil {
			return term{}, err
		}
	}
	args := c.args
	return numeric(func(row Row) (float64, gap) {
		n := 0.0
		for _, t := range args {
			b, g := t.truth(row)
			if g.missing {
				return 0, g
			}
			if b {
				n++
			}
		}
		return n, gap{}
	}), nil
}

func buildRound(c call) (term, error) {
	if err := c.argument(0, value.Number); err != nil {
		return term{}, err
	}
	digits := 0
	if len(c.args) == 2 {
		v := c.args[1].literal
		if c.args[1].kind != value.Number || v == nil || v.Number != math.Trunc(v.Number) || v.Number < 0 || v.Number > 15 {
			return term{}, c.fault(c.args[1].at, "found %v as the number of digits, expected an integer from 0 to 15", c.args[1])
		}
		digits = int(v.Number)
	}
	return numeric(apply(c.args[0].number, func(x float64) float64 { return roundDecimal(x, digits) })), nil
}

// roundDecimal rounds the shortest decimal form of x, which is how a cell or a
// table shows it, halves away from zero. Rounding the binary value instead
// would turn 2.675, stored as 2.67499999999999982..., into 2.67.
func roundDecimal(x float64, digits int) float64 {
	var buffer [32]byte
	text := strconv.AppendFloat(buffer[:0], math.Abs(x), 'f', -1, 64)
	point := len(text)
	for i, b := range text {
		if b == '.' {
			point = i
			break
		}
	}
	if len(text)-point-1 <= digits {
		return x
	}
	kept := text[:point+1+digits]
	up := text[len(kept)] >= '5'
	for i := len(kept) - 1; up && i >= 0; i-- {
		switch kept[i] {
		case '.':
		case '9':
			kept[i] = '0'
		default:
			kept[i]++
			up = false
		}
	}
	written := string(kept)
	if up {
		written = "1" + written
	}
	rounded, err := strconv.ParseFloat(written, 64)
	if err != nil {
		return math.NaN()
	}
	return math.Copysign(rounded, x)
}
