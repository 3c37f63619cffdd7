package dataset

import (
	"fmt"

	"heelcohort/codebook"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// order finds rows in which a day is before an earlier one of the list. The
// first that is out of order is found, with the one before it; missing ones are
// passed over.
func (c *ruleCheck) order() error {
	o := c.rule.Order
	expected := "not before"
	if o.Strict {
		expected = "after"
	}
	return c.each(func(i int) {
		row := c.reader.At(i)
		last := -1
		var before value.Value
		for k, variable := range o.Of {
			v := row.Value(variable.Slot)
			if v.Missing {
				continue
			}
			if last >= 0 && (v.Number < before.Number || o.Strict && v.Number == before.Number) {
				c.outOfOrder(i, o.Of[last], variable, before, v, expected)
				return
			}
			last, before = k, v
		}
	})
}

// outOfOrder reports that a variable is before another that it should follow.
func (c *ruleCheck) outOfOrder(i int, first, second expression.Variable, before, v value.Value, expected string) {
	relation := "before"
	if v.Number == before.Number {
		relation = "not after"
	}
	pair := []expression.Variable{first, second}
	c.report(breach{
		row: i, column: firstOwn(second, first), fields: ownNames(pair),
		found:    fmt.Sprintf("%s=%v, %s=%v", codebook.Written(first), before, codebook.Written(second), v),
		expected: fmt.Sprintf("%s %s %s", codebook.Written(second), expected, codebook.Written(first)),
		message:  fmt.Sprintf("%s (%v) is %s %s (%v).", codebook.Written(second), v, relation, codebook.Written(first), before),
	})
}

// firstOwn is the name of the first variable of the row's own table, or "".
func firstOwn(variables ...expression.Variable) string {
	for _, v := range variables {
		if v.Table == "" {
			return v.Name
		}
	}
	return ""
}

// ownNames lists the variables of the row's own table.
func ownNames(variables []expression.Variable) []string {
	var own []string
	for _, v := range variables {
		if v.Table == "" {
			own = append(own, v.Name)
		}
	}
	return own
}

// within finds days outside of their limits; a day on a limit is within. A
// limit that is missing does not limit.
func (c *ruleCheck) within() error {
	w := c.rule.Within
	return c.each(func(i int) {
		row := c.reader.At(i)
		for _, day := range w.Days {
			v := row.Value(day.Slot)
			if v.Missing {
				continue
			}
			if low, ok := limitOf(w.From, row); ok && v.Number < low.Number {
				c.outside(i, day, v, w.From, low, "before", "not before")
			} else if high, ok := limitOf(w.To, row); ok && v.Number > high.Number {
				c.outside(i, day, v, w.To, high, "after", "not after")
			}
		}
	})
}

// limitOf is the value of a limit in a row; ok is false where there is none.
func limitOf(l *codebook.Limit, row expression.Row) (v value.Value, ok bool) {
	switch {
	case l == nil:
		return v, false
	case l.Variable == nil:
		return l.Value, true
	}
	v = row.Value(l.Variable.Slot)
	return v, !v.Missing
}

// outside reports a day on the wrong side of a limit.
func (c *ruleCheck) outside(i int, day expression.Variable, v value.Value, l *codebook.Limit, limit value.Value, relation, expected string) {
	variables := []expression.Variable{day}
	found := fmt.Sprintf("%s=%v", codebook.Written(day), v)
	bound, shown := limit.String(), limit.String()
	if l.Variable != nil {
		variables = append(variables, *l.Variable)
		bound = codebook.Written(*l.Variable)
		found += fmt.Sprintf(", %s=%v", bound, limit)
		shown = fmt.Sprintf("%s (%v)", bound, limit)
	}
	c.report(breach{
		row: i, column: firstOwn(variables...), fields: ownNames(variables),
		found:    found,
		expected: fmt.Sprintf("%s %s %s", codebook.Written(day), expected, bound),
		message:  fmt.Sprintf("%s (%v) is %s %s.", codebook.Written(day), v, relation, shown),
	})
}
