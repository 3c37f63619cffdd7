package run

import (
	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// levelled finds a variable that has levels: categories or a boolean.
func levelled(m *cohort.Model, table string, name document.String) (cohort.Variable, error) {
	v, err := m.Variable(table, name)
	if err != nil {
		return v, err
	}
	if v.Levels() == nil {
		return v, name.Errorf(1, 1, "", "%q is a %v without categories, expected a boolean or a variable with categories", v.Name, v.Kind)
	}
	return v, nil
}

// levelText is the level of a row; ok is false where it is missing.
func levelText(c *dataset.Column, i int) (string, bool) { return valueLevel(c.Value(i)) }

// valueLevel is the level that a value names.
func valueLevel(v value.Value) (string, bool) {
	if v.Missing {
		return "", false
	}
	return v.String(), true
}

// everyRow lists 0 to n-1.
func everyRow(n int) []int {
	rows := make([]int, n)
	for i := range rows {
		rows[i] = i
	}
	return rows
}

// clusters numbers the distinct values of a variable in the rows, in order of
// appearance; ok tells the rows that have one.
func clusters(c *dataset.Column, n int) (ids []int, ok []bool) {
	ids, ok = make([]int, n), make([]bool, n)
	known := map[string]int{}
	for i := range n {
		v := c.Value(i)
		if v.Missing {
			continue
		}
		text := v.String()
		id, there := known[text]
		if !there {
			id = len(known)
			known[text] = id
		}
		ids[i], ok[i] = id, true
	}
	return ids, ok
}
