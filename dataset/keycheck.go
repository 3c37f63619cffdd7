package dataset

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/codebook"
)

// checkKeys checks the primary key, the unique keys and the unique fields of a
// table. Rows whose key has an invalid part have their finding already; a
// missing part is a fault of the primary key and nothing to the others.
func checkKeys(t *Table) []Finding {
	s := &t.Resource.Schema
	var found []Finding
	if len(s.PrimaryKey) > 0 {
		found = append(found, checkPresent(t, s.PrimaryKey)...)
		found = append(found, checkUnique(t, RulePrimaryKey, s.PrimaryKey)...)
	}
	for _, f := range s.Fields {
		name := []string{f.Name}
		if f.Constraints.Unique && !slices.Equal(name, s.PrimaryKey) {
			found = append(found, checkUnique(t, RuleUnique, name)...)
		}
	}
	for _, key := range s.UniqueKeys {
		alone := len(key) == 1 && s.Field(key[0]) != nil && s.Field(key[0]).Constraints.Unique
		if !alone && !slices.Equal(key, s.PrimaryKey) {
			found = append(found, checkUnique(t, RuleUnique, key)...)
		}
	}
	return found
}

// checkPresent finds missing parts of the primary key.
func checkPresent(t *Table, names []string) []Finding {
	var found []Finding
	for _, c := range keyColumns(t, names) {
		for i, state := range c.State {
			if state != Missing {
				continue
			}
			f := cellFinding(t, i, c, RulePrimaryKey)
			f.Expected = "a value"
			f.Message = fmt.Sprintf("%s is missing (%q), but is part of the primary key", c.Name, c.Code(i))
			found = append(found, f)
		}
	}
	return found
}

// checkUnique finds rows whose key stands in an earlier row too.
func checkUnique(t *Table, rule string, names []string) []Finding {
	columns := keyColumns(t, names)
	if columns == nil {
		return nil
	}
	first := make(map[string]int, t.Len())
	var found []Finding
	for i := range t.Len() {
		key, ok := keyText(columns, i)
		if !ok {
			continue
		}
		at, seen := first[key]
		if !seen {
			first[key] = i
			continue
		}
		f := cellFinding(t, i, columns[0], rule)
		f.Found = keyShown(columns, i)
		f.Expected = "a value that no other row has"
		f.Message = fmt.Sprintf("%s %s of %s stands in %s too",
			strings.Join(names, ", "), f.Found, rowName(t, i), rowName(t, at))
		found = append(found, f)
	}
	return found
}

// rowName names row i of a table: "row 7", or "line 7" in a text file.
func rowName(t *Table, i int) string { return t.Origin(i, nil).Cell() }

// checkForeignKey finds rows that name a row of another table which is not
// there. Rows with a missing or invalid part are passed over.
func checkForeignKey(d *Dataset, t *Table, k codebook.ForeignKey) []Finding {
	other := referenced(d, t, k)
	columns := keyColumns(t, k.Fields)
	if other == nil || columns == nil {
		return nil
	}
	index := indexKeys(other, k.ReferenceFields)
	nearest := newNearestKey(index.words)
	var found []Finding
	for i := range t.Len() {
		key, ok := keyText(columns, i)
		if !ok {
			continue
		}
		if _, there := index.rows[key]; there {
			continue
		}
		f := cellFinding(t, i, columns[0], RuleForeignKey)
		f.Found = keyShown(columns, i)
		f.Nearest = nearest.of(f.Found)
		f.Expected = fmt.Sprintf("%s of a row of %s", strings.Join(k.ReferenceFields, ", "), other.Name)
		f.Message = fmt.Sprintf("%s %s has no row in %s", strings.Join(k.Fields, ", "), f.Found, other.Name)
		found = append(found, f)
	}
	return found
}

// referenced is the table that a foreign key points to.
func referenced(d *Dataset, t *Table, k codebook.ForeignKey) *Table {
	if k.Resource == "" {
		return t
	}
	return d.Table(k.Resource)
}

// cellFinding is a finding in the cell of row i and column c.
func cellFinding(t *Table, i int, c *Column, rule string) Finding {
	f := Finding{Rule: rule, Table: t.Name, Variable: c.Name, Where: t.Origin(i, c)}
	f.Found = c.Source(i)
	return f
}
