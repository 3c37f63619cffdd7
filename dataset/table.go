package dataset

import (
	"fmt"
	"slices"

	"heelcohort/codebook"
)

// A Table is one table of the study.
type Table struct {
	Name     string
	Label    string
	Resource *codebook.Resource
	File     string
	Sheet    string
	Columns  []*Column
	Rows     []int // the sheet's row (the file's line) of each row, from 1
}

// Len is the number of rows.
func (t *Table) Len() int { return len(t.Rows) }

// Column finds a column by name, or nil.
func (t *Table) Column(name string) *Column {
	for _, c := range t.Columns {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// Origin is the place of a cell; c may be nil for the whole row, and a derived
// column, which stands in no cell, gives the whole row too.
func (t *Table) Origin(i int, c *Column) Origin {
	o := Origin{File: t.File, Sheet: t.Sheet, Row: t.Rows[i]}
	if c != nil {
		o.Column = c.Index
	}
	return o
}

// With returns the table with one more column. The column must have the
// table's length and a name that the table does not have yet.
func (t *Table) With(c *Column) (*Table, error) {
	if t.Column(c.Name) != nil {
		return nil, fmt.Errorf("dataset: table %q already has a variable %q", t.Name, c.Name)
	}
	if c.Len() != t.Len() {
		return nil, fmt.Errorf("dataset: variable %q has %d rows, expected the %d of table %q", c.Name, c.Len(), t.Len(), t.Name)
	}
	n := *t
	n.Columns = append(slices.Clip(slices.Clone(t.Columns)), c)
	return &n, nil
}

// Keep returns the rows for which keep is true, in order. The choice of rows
// passes through a gota DataFrame of row numbers (see Frame for the whole
// table); the cells themselves are not converted.
func (t *Table) Keep(keep []bool) (*Table, error) {
	if len(keep) != t.Len() {
		return nil, fmt.Errorf("dataset: keep has %d rows, expected the %d of table %q", len(keep), t.Len(), t.Name)
	}
	index, err := subset(keep)
	if err != nil {
		return nil, err
	}
	n := *t
	n.Rows = pick(t.Rows, index)
	if n.Rows == nil {
		n.Rows = []int{}
	}
	n.Columns = make([]*Column, len(t.Columns))
	for i, c := range t.Columns {
		n.Columns[i] = c.pick(index)
	}
	return &n, nil
}
