package dataset

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
