package expression

import (
	"math"

	"heelcohort/codebook/value"
)

// operations are the arithmetic operations on numbers. A result that is not
// finite is missing: a division by zero, a remainder by zero, a root of a
// negative number, an overflow.
var operations = map[string]func(x, y float64) float64{
	"+":  func(x, y float64) float64 { return x + y },
	"-":  func(x, y float64) float64 { return x - y },
	"*":  func(x, y float64) float64 { return x * y },
	"/":  func(x, y float64) float64 { return x / y },
	"%":  math.Mod,
	"**": math.Pow,
}

// arithmetic compiles an operator on two numbers, or + and - with dates.
func (c *compiler) arithmetic(operator string, left, right term, at int) (term, error) {
	t := term{kind: value.Number, at: left.at}
	switch {
	case left.kind == value.Number && right.kind == value.Number:
		t.number = strict(left.number, right.number, operations[operator])
		return t, nil
	case left.kind == value.Date && right.kind == value.Date && operator == "-":
		t.number = strict(left.number, right.number, operations["-"])
		return t, nil
	case left.kind == value.Date && right.kind == value.Number && (operator == "+" || operator == "-"),
		left.kind == value.Number && right.kind == value.Date && operator == "+":
		t.kind = value.Date
		t.number = wholeDay(strict(left.number, right.number, operations[operator]))
		return t, nil
	}
	return term{}, c.fault(at, "found %v %s %v, expected %s", left, operator, right, operandsOf(operator, left, right))
}

// operandsOf says what an operator takes, with a hint that fits what it got.
func operandsOf(operator string, left, right term) string {
	has := func(k value.Kind) bool { return left.kind == k || right.kind == k }
	switch {
	case has(value.Date) && has(value.Text):
		return `numbers or dates; write a date as date("2024-05-01")`
	case has(value.Date) && operator == "-":
		return "date - date or date - number"
	case has(value.Date) && operator == "+":
		return "date + number"
	case has(value.Bool) && operator == "+":
		return "numbers; count_true(a, b) counts conditions"
	}
	return "numbers"
}

// strict applies an operation, missing where an operand is missing.
func strict(a, b numberFunc, operation func(x, y float64) float64) numberFunc {
	return func(row Row) (float64, gap) {
		x, g := a(row)
		if g.missing {
			return 0, g
		}
		y, g := b(row)
		if g.missing {
			return 0, g
		}
		return finite(operation(x, y))
	}
}

// sign compiles a unary + or -. The negative of a literal is a literal.
func (c *compiler) sign(operator string, x term, at int) (term, error) {
	if x.kind != value.Number {
		return term{}, c.fault(at, "found %s before %v, expected a number after it", operator, x)
	}
	negative := operator == "-"
	if x.literal != nil {
		v := x.literal.Number
		if negative && v != 0 {
			v = -v
		}
		return numberLiteral(v, at), nil
	}
	number := x.number
	if negative {
		number = func(row Row) (float64, gap) {
			v, g := x.number(row)
			if g.missing {
				return 0, g
			}
			return finite(-v)
		}
	}
	return term{kind: value.Number, at: at, number: number}, nil
}
