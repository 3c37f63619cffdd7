package dataset

import "heelcohort/codebook"

// Parents gives, for each row of t, the index of the row of the named table
// that its foreign key leads to, or -1 where it leads to none or to more than
// one.
func (d *Dataset) Parents(t *Table, table string) ([]int, error) {
	r := &RowReader{}
	at, err := r.link(d, t, table)
	if err != nil {
		return nil, err
	}
	return r.links[at].to, nil
}

// Named gives, for each row of t, the indexes of the rows that foreign key k
// leads to, in order; none where a part of the key is missing or invalid. Rows
// with the same key share one slice, which the caller must not change.
func (d *Dataset) Named(t *Table, k codebook.ForeignKey) [][]int {
	to := make([][]int, t.Len())
	other := referenced(d, t, k)
	if other == nil {
		return to
	}
	columns, keys := keyColumns(t, k.Fields), keyColumns(other, k.ReferenceFields)
	if columns == nil || keys == nil {
		return to
	}
	rows := make(map[string][]int, other.Len())
	for j := range other.Len() {
		if text, ok := keyText(keys, j); ok {
			rows[text] = append(rows[text], j)
		}
	}
	for i := range to {
		if text, ok := keyText(columns, i); ok {
			to[i] = rows[text]
		}
	}
	return to
}
