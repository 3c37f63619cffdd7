package dataset

import (
	"fmt"

	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A RowReader gives the values of one table's rows to expressions, together
// with those of the rows that they link to by foreign keys.
type RowReader struct {
	slots []slot
	links []*link
	row   int
}

// A slot says where a variable's values lie: in the row itself, or at the end
// of a link.
type slot struct {
	column *Column
	link   int // -1 for the row's own table
}

// A link leads from each row of a table to a row of another, or to -1.
type link struct {
	table string
	to    []int
}

// Reader prepares reading of the given variables, whose slots are their
// indexes. A variable of another table is reached by the first foreign key of
// t's codebook that names that table; where no row has the key, or more than
// one has it, the variable is missing with the code value.CodeNoRow.
func (d *Dataset) Reader(t *Table, variables []expression.Variable) (*RowReader, error) {
	r := &RowReader{slots: make([]slot, len(variables))}
	for i, v := range variables {
		if v.Table == "" || v.Table == t.Name {
			c := t.Column(v.Name)
			if c == nil {
				return nil, fmt.Errorf("dataset: table %q has no variable %q", t.Name, v.Name)
			}
			r.slots[i] = slot{c, -1}
			continue
		}
		at, err := r.link(d, t, v.Table)
		if err != nil {
			return nil, err
		}
		c := d.Table(v.Table).Column(v.Name)
		if c == nil {
			return nil, fmt.Errorf("dataset: table %q has no variable %q", v.Table, v.Name)
		}
		r.slots[i] = slot{c, at}
	}
	return r, nil
}

// link finds or makes the link to a table.
func (r *RowReader) link(d *Dataset, t *Table, table string) (int, error) {
	for i, l := range r.links {
		if l.table == table {
			return i, nil
		}
	}
	other := d.Table(table)
	if t.Resource != nil && other != nil {
		for _, k := range t.Resource.Schema.ForeignKeys {
			if k.Resource != table {
				continue
			}
			columns := keyColumns(t, k.Fields)
			index := indexKeys(other, k.ReferenceFields)
			if columns == nil || index.columns == nil {
				break
			}
			to := make([]int, t.Len())
			for i := range to {
				to[i] = -1
				if key, ok := keyText(columns, i); ok && !index.twice[key] {
					if j, there := index.rows[key]; there {
						to[i] = j
					}
				}
			}
			r.links = append(r.links, &link{table, to})
			return len(r.links) - 1, nil
		}
	}
	return 0, fmt.Errorf("dataset: table %q has no foreign key to a table %q", t.Name, table)
}

// At moves to row i and gives it. The row is valid until the next call.
func (r *RowReader) At(i int) expression.Row {
	r.row = i
	return r
}

// Value implements expression.Row for the row that At moved to.
func (r *RowReader) Value(at int) value.Value {
	s := r.slots[at]
	i := r.row
	if s.link >= 0 {
		if i = r.links[s.link].to[i]; i < 0 {
			return value.None(s.column.Kind, value.CodeNoRow)
		}
	}
	return s.column.Value(i)
}
