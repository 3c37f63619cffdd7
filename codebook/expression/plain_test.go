package expression

import (
	"fmt"
	"math"

	"heelcohort/codebook/value"
)

// plain evaluates a tree by walking it: a second implementation that shares
// nothing with the compiler. Logic is computed on the numbers 0 (false), 1/2
// (missing) and 1 (true), where "and" is the minimum and "or" the maximum.
func plain(n *tree, row values) value.Value {
	switch n.op {
	case "literal":
		return n.val
	case "variable":
		return row[n.slot]
	case "?":
		c := plain(n.kids[0], row)
		if c.Missing {
			return value.None(plain(n.kids[1], row).Kind, c.Code)
		}
		if c.Bool {
			return plain(n.kids[1], row)
		}
		return plain(n.kids[2], row)
	}
	operands := make([]value.Value, len(n.kids))
	var gone *value.Value
	for i, k := range n.kids {
		operands[i] = plain(k, row)
		if operands[i].Missing && gone == nil {
			gone = &operands[i]
		}
	}
	if n.op == "chain" {
		return plainLogic("and", plainStrict("<=", operands[:2]), plainStrict("<", operands[1:]))
	}
	switch n.op {
	case "and", "or":
		return plainLogic(n.op, operands[0], operands[1])
	case "is_missing":
		return value.Truth(operands[0].Missing)
	case "missing_code":
		if !operands[0].Missing {
			return value.None(value.Text, CodeNotMissing)
		}
		return value.Str(operands[0].Code)
	case "coalesce":
		for _, v := range operands {
			if !v.Missing {
				return v
			}
		}
		return operands[0]
	case "band":
		if gone != nil {
			return value.None(value.Text, gone.Code)
		}
		for i := range n.bounds[1:] {
			if low, high := n.bounds[i], n.bounds[i+1]; low <= operands[0].Number && operands[0].Number < high {
				return value.Str(fmt.Sprintf("%v to <%v", low, high))
			}
		}
		return value.None(value.Text, "outside bands")
	}
	return plainStrict(n.op, operands)
}

// plainLogic is Kleene's logic as arithmetic.
func plainLogic(op string, a, b value.Value) value.Value {
	degree := func(v value.Value) float64 {
		switch {
		case v.Missing:
			return 0.5
		case v.Bool:
			return 1
		}
		return 0
	}
	d := math.Min(degree(a), degree(b))
	if op == "or" {
		d = math.Max(degree(a), degree(b))
	}
	switch {
	case d == 0.5 && a.Missing:
		return value.None(value.Bool, a.Code)
	case d == 0.5:
		return value.None(value.Bool, b.Code)
	}
	return value.Truth(d == 1)
}

// plainStrict is an operation that is missing where an operand is.
func plainStrict(op string, v []value.Value) value.Value {
	for _, x := range v {
		if x.Missing {
			return value.None(plainKind(op, v), x.Code)
		}
	}
	number := func(x float64) value.Value {
		if plainKind(op, v) != value.Date {
			return value.Num(x)
		}
		if x != math.Floor(x) || math.Abs(x) > 1e6 { // far inside the years 1 to 9999 are all dates drawn
			return value.None(value.Date, "undefined")
		}
		return value.Day(x)
	}
	a := v[0].Number
	b := 0.0
	if len(v) > 1 {
		b = v[1].Number
	}
	switch op {
	case "+":
		return number(a + b)
	case "-", "difference":
		return number(a - b)
	case "*":
		return number(a * b)
	case "/":
		return number(a / b)
	case "%":
		return number(math.Mod(a, b))
	case "**":
		return number(math.Pow(a, b))
	case "neg":
		return number(0 - a)
	case "abs":
		return number(math.Max(a, -a))
	case "floor":
		return number(math.Floor(a))
	case "sqrt":
		return number(math.Sqrt(a))
	case "not":
		return value.Truth(!v[0].Bool)
	case "==":
		return value.Truth(v[0] == v[1])
	case "!=":
		return value.Truth(v[0] != v[1])
	case "<":
		return value.Truth(a < b)
	case "<=":
		return value.Truth(a <= b)
	case ">":
		return value.Truth(a > b)
	case ">=":
		return value.Truth(a >= b)
	case "between":
		return value.Truth(a >= b && a <= v[2].Number)
	case "in":
		for _, item := range v[1:] {
			if v[0] == item {
				return value.Truth(true)
			}
		}
		return value.Truth(false)
	}
	return number(plainMany(op, v))
}

// plainMany is a function of any number of operands.
func plainMany(op string, v []value.Value) float64 {
	least, most, sum, count := v[0].Number, v[0].Number, 0.0, 0.0
	for _, x := range v {
		if x.Number < least {
			least = x.Number
		}
		if x.Number > most {
			most = x.Number
		}
		if x.Bool {
			count++
		}
		sum += x.Number
	}
	switch op {
	case "min":
		return least
	case "max":
		return most
	case "sum":
		return sum
	case "mean":
		return sum / float64(len(v))
	case "count_true":
		return count
	}
	panic("no operation " + op)
}

// plainKind is the kind that an operation gives.
func plainKind(op string, v []value.Value) value.Kind {
	switch op {
	case "not", "==", "!=", "<", "<=", ">", ">=", "between", "in":
		return value.Bool
	case "+", "-", "min":
		if v[0].Kind == value.Date && v[1].Kind == value.Number || op == "min" {
			return v[0].Kind
		}
	}
	return value.Number
}
