package draft

import (
	"slices"
	"strings"

	"heelcohort/codebook"
)

// findKeys suspects primary keys in each table and foreign keys between them.
func findKeys(tables []*table) {
	for _, t := range tables {
		t.primaryKey()
	}
	for i, t := range tables {
		for _, f := range t.fields {
			for k, other := range tables {
				if k != i && t.refers(f, other, k < i) {
					break
				}
			}
		}
		for _, k := range t.foreign {
			for _, f := range t.fields {
				if f.id == k.field && f.categories != nil {
					f.forgetCategories("the column names rows of another table")
				}
			}
		}
	}
	// A column that others name rows by holds no categories either.
	for _, t := range tables {
		for _, name := range t.primary {
			for _, f := range t.fields {
				if f.id == name && len(t.primary) == 1 && f.categories != nil {
					f.forgetCategories("the column names rows")
				}
			}
		}
	}
}

func (f *field) forgetCategories(why string) {
	f.categories = nil
	f.why = slices.DeleteFunc(f.why, func(p pair) bool { return p.key == "categories" })
	f.notes = slices.DeleteFunc(f.notes, func(n string) bool { return strings.HasSuffix(n, "which are not repeated here") })
	if f.role == "" {
		f.role = identifierRole
		f.because("role", "%s", why)
	}
}

// keyable reports whether a column may be part of a key: complete, without
// suspected codes, and no fraction.
func (f *field) keyable() bool {
	return f.empty == 0 && len(f.missing) == 0 && f.values > 0 && f.typ != codebook.TypeNumber && f.typ != codebook.TypeBoolean &&
		f.role != freeTextRole
}

// named reports whether a title speaks of an identifier.
func (f *field) named() bool {
	return f.role == identifierRole || speaks(f.column.title, []string{"id", "ids", "identifier", "key"})
}

// primaryKey suspects the first column named like an identifier that names
// each row alone; else the first column if it does; else two or three columns
// together, one of them named like an identifier.
func (t *table) primaryKey() {
	if t.rows < 2 {
		return
	}
	for i, f := range t.fields {
		if f.keyable() && (f.named() || i == 0 && f.typ != codebook.TypeDate) && t.distinct(f) {
			t.primary = []string{f.id}
			t.why = append(t.why, pair{"primaryKey", "no two of " + plural(t.rows, "row") + " share it and it is never empty"})
			return
		}
	}
	var parts []*field
	for _, f := range t.fields {
		if f.keyable() {
			parts = append(parts, f)
		}
	}
	if t.rows < leastForRange || !slices.ContainsFunc(parts, (*field).named) {
		return
	}
	const most = 12 // columns tried
	parts = parts[:min(len(parts), most)]
	for size := 2; size <= 3; size++ {
		if key := t.together(parts, nil, size); key != nil {
			for _, f := range key {
				t.primary = append(t.primary, f.id)
			}
			t.why = append(t.why, pair{"primaryKey", "no two of " + plural(t.rows, "row") + " share the columns together; perhaps by chance"})
			return
		}
	}
}

// together finds the first columns, in the sheet's order, that name each row.
func (t *table) together(parts, chosen []*field, size int) []*field {
	if size == 0 {
		if slices.ContainsFunc(chosen, (*field).named) && t.distinct(chosen...) {
			return slices.Clone(chosen)
		}
		return nil
	}
	for i, f := range parts {
		if key := t.together(parts[i+1:], append(slices.Clip(chosen), f), size-1); key != nil {
			return key
		}
	}
	return nil
}

// distinct reports whether no two rows share the cells of all columns.
func (t *table) distinct(fields ...*field) bool {
	if len(fields) == 1 {
		texts := map[string]bool{}
		for _, c := range fields[0].column.seen {
			text := strings.TrimSpace(c.Text)
			if c.count > 1 || texts[text] {
				return false
			}
			texts[text] = true
		}
		return true
	}
	type row [3]uint32
	seen := make(map[row]bool, t.rows)
	for i := range t.rows {
		var r row
		for k, f := range fields {
			r[k] = f.column.cells[i]
		}
		if seen[r] {
			return false
		}
		seen[r] = true
	}
	return true
}

// refers suspects that a column names rows of another table by its primary
// key: the titles are equal and nine in ten cells are found there, or every
// cell is and the column is named like an identifier. Of two tables that share
// a key the later one refers.
func (t *table) refers(f *field, other *table, earlier bool) bool {
	if len(other.primary) != 1 || f.typ != codebook.TypeString && f.typ != codebook.TypeInteger {
		return false
	}
	var target *field
	for _, g := range other.fields {
		if g.id == other.primary[0] {
			target = g
		}
	}
	if target == nil || target.typ != f.typ || f.values == 0 {
		return false
	}
	if slices.Equal(t.primary, []string{f.id}) && !earlier {
		return false
	}
	same := strings.EqualFold(f.column.title, target.column.title)
	if !same && (!f.named() || f.typ != codebook.TypeString) {
		return false
	}
	keys := map[string]bool{}
	for _, c := range target.column.seen {
		keys[strings.TrimSpace(c.Text)] = true
	}
	found, all, texts := 0, 0, 0
	for _, c := range f.column.seen {
		text := strings.TrimSpace(c.Text)
		if blank(c.GridCell) || slices.ContainsFunc(f.missing, func(m code) bool { return m.text == text }) {
			continue
		}
		all += c.count
		if keys[text] {
			found += c.count
			texts++
		}
	}
	if same && !mostly(found, all) || !same && (found < all || texts < 3) {
		return false
	}
	t.foreign = append(t.foreign, foreignKey{
		field: f.id, table: other.id, reference: target.id,
		why: share(found, all) + " of " + f.id + " are found in " + other.id,
	})
	return true
}
