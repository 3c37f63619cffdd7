package dataset

import "fmt"

// unique finds rows that are alike in some variables with an earlier row. Rows
// in which one of the variables is missing or invalid are passed over.
func (c *ruleCheck) unique() error {
	columns := keyColumns(c.t, c.rule.Unique)
	if columns == nil {
		return nil
	}
	first := make(map[string]int, len(c.rows))
	return c.each(func(i int) {
		key, ok := keyText(columns, i)
		if !ok {
			return
		}
		at, seen := first[key]
		if !seen {
			first[key] = i
			return
		}
		shown, are := keyShown(columns, i), "is"
		if len(columns) > 1 {
			are = "are"
		} else {
			shown = "(" + shown + ")"
		}
		c.report(breach{
			row: i, column: columns[0].Name, fields: c.rule.Unique, others: []int{at},
			found:    fmt.Sprintf("%s, as in %s", shown, rowName(c.t, at)),
			expected: "a row unlike all others in " + names(c.rule.Unique),
			message:  fmt.Sprintf("%s %s %s the same as in %s.", names(c.rule.Unique), shown, are, rowName(c.t, at)),
		})
	})
}
