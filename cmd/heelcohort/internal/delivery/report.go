package delivery

import (
	"io"

	"heelcohort/dataset"
	"heelcohort/dataset/harmless"
)

// The sorts of difference.
const (
	Changed       = "changed"
	Written       = "written differently"
	RowAdded      = "row added"
	RowRemoved    = "row removed"
	ColumnAdded   = "column added"
	ColumnRemoved = "column removed"
	TableAdded    = "table added"
	TableRemoved  = "table removed"
	RowsMoved     = "rows in another order"
	ColumnsMoved  = "columns in another order"
)

// A Change is one difference. Places that are in one delivery alone are zero in
// the other.
type Change struct {
	Sort          string
	Table         string
	Variable      string // "" of a row, a table or an order
	Key           string // of the row, for people; "" without a key
	Before, After dataset.Origin
	Old, New      string // the cells' texts, or what may be shown of them
}

// A Variable counts the cells of a variable that differ.
type Variable struct {
	Name             string
	Changed, Written int
}

// A Table is what differs in one table.
type Table struct {
	Name          string
	Key           []string // by which rows are paired; nil by whole content
	Before, After int      // rows
	Added         int
	Removed       int
	Changed       int        // rows with changed cells or cells written differently
	Variables     []Variable // those with differing cells, in the order of the codebook
	Changes       []Change   // by row of the later delivery; rows removed come last
}

// Differs reports whether anything differs.
func (t *Table) Differs() bool { return len(t.Changes) > 0 }

// A Report is what differs between two deliveries.
type Report struct{ Tables []Table }

// Differs reports whether anything differs.
func (r *Report) Differs() bool {
	for i := range r.Tables {
		if r.Tables[i].Differs() {
			return true
		}
	}
	return false
}

// header is the head of the file that WriteCSV writes.
var header = []string{
	"difference", "table", "variable", "key", "file before", "sheet before", "cell before", "before",
	"file after", "sheet after", "cell after", "after",
}

// WriteCSV writes every difference, one a line, below a head line. Texts are
// made harmless for spreadsheet programs.
func (r *Report) WriteCSV(w io.Writer) error {
	return harmless.WriteCSV(w, func(yield func([]string) bool) {
		if !yield(header) {
			return
		}
		for _, t := range r.Tables {
			for _, c := range t.Changes {
				if !yield([]string{
					c.Sort, c.Table, c.Variable, c.Key, c.Before.File, c.Before.Sheet, c.Before.Cell(), c.Old,
					c.After.File, c.After.Sheet, c.After.Cell(), c.New,
				}) {
					return
				}
			}
		}
	})
}
