package delivery

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook/identifier"
	"heelcohort/dataset"
)

// Compare compares two deliveries. Both must have gone through dataset.Screen,
// so that it is known which texts may be shown.
func Compare(before, after *dataset.Dataset) *Report {
	r := &Report{}
	for _, t := range before.Tables {
		if later := after.Table(t.Name); later != nil {
			c := &comparison{
				before: t, after: later,
				hides: func(name string) bool { return before.Masked(t.Name, name) || after.Masked(t.Name, name) },
			}
			r.Tables = append(r.Tables, c.table())
			continue
		}
		gone := Table{Name: t.Name, Before: t.Len(), Removed: t.Len()}
		gone.Changes = []Change{{Sort: TableRemoved, Table: t.Name, Before: dataset.Origin{File: t.File, Sheet: t.Sheet}}}
		r.Tables = append(r.Tables, gone)
	}
	for _, t := range after.Tables {
		if before.Table(t.Name) == nil {
			come := Table{Name: t.Name, After: t.Len(), Added: t.Len()}
			come.Changes = []Change{{Sort: TableAdded, Table: t.Name, After: dataset.Origin{File: t.File, Sheet: t.Sheet}}}
			r.Tables = append(r.Tables, come)
		}
	}
	return r
}

// A comparison is one table in both deliveries.
type comparison struct {
	before, after *dataset.Table
	hides         func(variable string) bool
	shared        [][2]*dataset.Column // before and after
	key           []string
	out           Table
}

func (c *comparison) table() Table {
	c.out = Table{Name: c.after.Name, Before: c.before.Len(), After: c.after.Len()}
	c.columns()
	if key := c.after.Resource.Schema.PrimaryKey; len(key) > 0 && slices.Equal(key, c.before.Resource.Schema.PrimaryKey) {
		c.key, c.out.Key = key, key
	}
	pairs := c.pair()
	c.rows(pairs)
	return c.out
}

// columns compares which variables there are and in which order they stand.
func (c *comparison) columns() {
	for _, k := range c.after.Columns {
		if old := c.before.Column(k.Name); old != nil {
			c.shared = append(c.shared, [2]*dataset.Column{old, k})
			continue
		}
		c.add(Change{Sort: ColumnAdded, Variable: k.Name, After: head(c.after, k)})
	}
	for _, k := range c.before.Columns {
		if c.after.Column(k.Name) == nil {
			c.add(Change{Sort: ColumnRemoved, Variable: k.Name, Before: head(c.before, k)})
		}
	}
	order := slices.Clone(c.shared)
	slices.SortFunc(order, func(a, b [2]*dataset.Column) int { return cmp.Compare(a[0].Index, b[0].Index) })
	if !slices.IsSortedFunc(order, func(a, b [2]*dataset.Column) int { return cmp.Compare(a[1].Index, b[1].Index) }) {
		c.add(Change{Sort: ColumnsMoved, Before: sheet(c.before), After: sheet(c.after)})
	}
}

// head is the place of a column's name.
func head(t *dataset.Table, k *dataset.Column) dataset.Origin {
	return dataset.Origin{File: t.File, Sheet: t.Sheet, Row: max(t.Resource.HeaderRow, 1), Column: k.Index}
}

func sheet(t *dataset.Table) dataset.Origin { return dataset.Origin{File: t.File, Sheet: t.Sheet} }

func (c *comparison) add(change Change) {
	change.Table = c.after.Name
	c.out.Changes = append(c.out.Changes, change)
}

// pair gives for each row of the later delivery its row of the earlier one, or
// -1.
func (c *comparison) pair() []int {
	to := make([]int, c.after.Len())
	for j := range to {
		to[j] = -1
	}
	taken := make([]bool, c.before.Len())
	// Rows equal in every text are paired first, then those equal in every
	// value, then, where there is a key, those that share it.
	passes := []func(t *dataset.Table, side, i int) string{c.texts, c.values}
	if c.key != nil {
		keyed := func(rest func(*dataset.Table, int, int) string) func(*dataset.Table, int, int) string {
			return func(t *dataset.Table, side, i int) string { return c.keyText(t, i) + "\x00" + rest(t, side, i) }
		}
		passes = []func(t *dataset.Table, side, i int) string{
			keyed(c.texts), keyed(c.values), keyed(func(*dataset.Table, int, int) string { return "" }),
		}
	}
	for _, content := range passes {
		free := make(map[string][]int)
		for i := range taken {
			if !taken[i] {
				text := content(c.before, 0, i)
				free[text] = append(free[text], i)
			}
		}
		for j := range to {
			if to[j] >= 0 {
				continue
			}
			text := content(c.after, 1, j)
			if list := free[text]; len(list) > 0 {
				to[j], taken[list[0]], free[text] = list[0], true, list[1:]
			}
		}
	}
	return to
}

// texts is a row's texts in the variables of both deliveries.
func (c *comparison) texts(_ *dataset.Table, side, i int) string {
	var b strings.Builder
	for _, k := range c.shared {
		part(&b, k[side].Source(i))
	}
	return b.String()
}

// values is a row's values, so that texts of one value are the same.
func (c *comparison) values(_ *dataset.Table, side, i int) string {
	var b strings.Builder
	for _, k := range c.shared {
		part(&b, valueText(k[side], i))
	}
	return b.String()
}

func part(b *strings.Builder, text string) {
	b.WriteString(strconv.Itoa(len(text)) + ":" + text)
}

// valueText is a cell's value with its kind; of a cell without one, its text.
func valueText(k *dataset.Column, i int) string {
	switch k.State[i] {
	case dataset.Missing:
		return "missing " + k.Code(i)
	case dataset.Invalid:
		return "invalid " + k.Source(i)
	}
	return k.Kind.String() + " " + k.Value(i).String()
}

// keyText is a row's key; one that is missing or invalid in a part is known by
// its texts.
func (c *comparison) keyText(t *dataset.Table, i int) string {
	if text, ok := t.Key(c.key, i); ok {
		return "key " + text
	}
	var b strings.Builder
	b.WriteString("text ")
	for _, name := range c.key {
		part(&b, t.Column(name).Source(i))
	}
	return b.String()
}

// rows tells what differs in each pair, and what is left over.
func (c *comparison) rows(to []int) {
	counts := make(map[string]*Variable)
	kept := make([]bool, c.before.Len())
	last, moved := -1, false
	for j, i := range to {
		if i < 0 {
			c.out.Added++
			c.add(Change{Sort: RowAdded, Key: c.shownKey(c.after, j), After: c.after.Origin(j, nil)})
			continue
		}
		kept[i] = true
		moved = moved || i < last
		last = i
		differs := false
		for _, k := range c.shared {
			sort := compareCells(k[0], i, k[1], j)
			if sort == "" {
				continue
			}
			differs = true
			v := counts[k[1].Name]
			if v == nil {
				v = &Variable{Name: k[1].Name}
				counts[v.Name] = v
			}
			if sort == Written {
				v.Written++
			} else {
				v.Changed++
			}
			c.add(Change{
				Sort: sort, Variable: k[1].Name, Key: c.shownKey(c.after, j),
				Before: c.before.Origin(i, k[0]), After: c.after.Origin(j, k[1]),
				Old: c.shown(k[0].Name, k[0].Source(i)), New: c.shown(k[1].Name, k[1].Source(j)),
			})
		}
		if differs {
			c.out.Changed++
		}
	}
	for i := range kept {
		if !kept[i] {
			c.out.Removed++
			c.add(Change{Sort: RowRemoved, Key: c.shownKey(c.before, i), Before: c.before.Origin(i, nil)})
		}
	}
	if moved {
		c.add(Change{Sort: RowsMoved, Before: sheet(c.before), After: sheet(c.after)})
	}
	for _, k := range c.shared {
		if v := counts[k[1].Name]; v != nil {
			c.out.Variables = append(c.out.Variables, *v)
		}
	}
}

// compareCells is the sort of difference between two cells, or "".
func compareCells(a *dataset.Column, i int, b *dataset.Column, j int) string {
	switch {
	case a.Source(i) == b.Source(j) && valueText(a, i) == valueText(b, j):
		return ""
	case a.State[i] != dataset.Invalid && valueText(a, i) == valueText(b, j):
		return Written
	}
	return Changed
}

// shown is a cell's text as it may be shown.
func (c *comparison) shown(variable, text string) string {
	if c.hides(variable) || identifier.Shows(text) {
		return identifier.Mask(text)
	}
	return text
}

// shownKey is a row's key for people: "child=SM-0001".
func (c *comparison) shownKey(t *dataset.Table, i int) string {
	var parts []string
	for _, name := range c.key {
		parts = append(parts, name+"="+c.shown(name, t.Column(name).Source(i)))
	}
	return strings.Join(parts, ", ")
}
