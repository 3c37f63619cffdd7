package dataset

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// group evaluates a condition on the rows of each group. A group for which it
// is false is found at its first row; one for which it cannot be told because
// something is missing is passed over, as are rows that belong to no group
// because one of the variables that make it is missing or invalid.
func (c *ruleCheck) group() error {
	program, err := expression.CompileGroup(c.rule.Check.Value, c.scope, c.rule.By)
	switch {
	case err != nil:
		return placedFault(c.rule.Check, err)
	case program.Kind() != value.Bool:
		return c.rule.Check.Errorf(1, 1, "", "rule %q gives a %v, expected a boolean", c.rule.Name, program.Kind())
	}
	by := keyColumns(c.t, c.rule.By)
	if by == nil {
		return nil
	}
	at := make(map[string]int)
	var groups [][]int
	err = c.each(func(i int) {
		key, ok := keyText(by, i)
		if !ok {
			return
		}
		g, seen := at[key]
		if !seen {
			g = len(groups)
			at[key] = g
			groups = append(groups, nil)
		}
		groups[g] = append(groups[g], i)
	})
	if err != nil {
		return err
	}
	fields := ownNames(program.Variables())
	column := c.rule.By[0]
	for _, name := range fields {
		if !slices.Contains(c.rule.By, name) {
			column = name
			break
		}
	}
	for g, rows := range groups {
		if g%checkEvery == 0 {
			if err := c.ctx.Err(); err != nil {
				return err
			}
		}
		v, aggregates := program.Eval(len(rows), func(k int) expression.Row { return c.reader.At(rows[k]) })
		if v.Missing || v.Bool {
			continue
		}
		c.report(c.groupBreach(rows, by, column, fields, program.Aggregates(), aggregates))
	}
	return nil
}

// groupBreach words the finding of a group.
func (c *ruleCheck) groupBreach(rows []int, by []*Column, column string, fields, texts []string, values []value.Value) breach {
	computed, sentence := make([]string, len(texts)), make([]string, len(texts))
	for k, text := range texts {
		computed[k] = text + "=" + values[k].String()
		sentence[k] = text + " is " + values[k].String()
	}
	key := make([]string, len(by))
	for k, b := range by {
		key[k] = b.Name + " " + b.Value(rows[0]).String()
	}
	counted, over := "1 row", "the row"
	if len(rows) > 1 {
		counted = fmt.Sprintf("%d rows", len(rows))
		over = "the " + counted
	}
	return breach{
		row: rows[0], column: column, fields: fields, others: rows[1:],
		found:    strings.Join(computed, ", ") + " in " + counted,
		expected: c.rule.Check.Value,
		message:  fmt.Sprintf("%s over %s with %s, expected %s.", names(sentence), over, names(key), c.rule.Check.Value),
	}
}
