package sheet

import (
	"strings"

	"heelcohort/codebook/document"
)

// rows reads the items of a list into what they belong to.
func (r *reader) rows(s *Sheet, l *layout) {
	headings, _ := l.headings()
	need := append(append([]string(nil), l.parents...), l.columns[0].heading)
	if l.name == missingSheet {
		need = need[:1:1]
		need = append(need, l.columns[0].heading)
	}
	alias := map[string]string{}
	for _, c := range l.columns {
		if len(c.path) > 0 {
			alias[c.path[len(c.path)-1]] = c.heading
		}
	}
	for _, d := range r.records(s, headings, need, alias) {
		parent, typ, ok := d.parent(l)
		if !ok {
			continue
		}
		if l == &variables {
			c, _ := d.cell("type")
			typ = c.Text
		}
		item := r.item(&d, l, typ)
		if item == nil {
			continue
		}
		place := d.place()
		if n := find(parent, l.list); n == nil {
			put(parent, l.list, place, &document.Node{Kind: document.List, Position: place, Items: []*document.Node{item}})
		} else if n.Kind != document.List || len(n.Items) == 0 {
			r.refuse(place, "", "%s is set as a whole elsewhere, so that it can have no rows here", strings.Join(l.list, "."))
		} else {
			n.Items = append(n.Items, item)
		}
	}
}

// parent finds what the row belongs to, and the variable's type.
func (d *record) parent(l *layout) (*document.Node, string, bool) {
	if len(l.parents) == 0 {
		return d.reader.root, "", true
	}
	table, ok := d.named(d.reader.root, tables.list, tableHeading, "the sheet "+tableSheet)
	if !ok || len(l.parents) == 1 {
		return table, "", ok
	}
	if c, _ := d.cell(variableHeading); c.Text == "" && l == &missing {
		schema := table.Get("schema")
		if schema == nil {
			schema = &document.Node{Kind: document.Map, Position: d.place()}
			put(table, at("schema"), d.place(), schema)
		}
		return schema, "", schema.Kind == document.Map
	}
	variable, ok := d.named(table, variables.list, variableHeading, "table "+table.Get("name").Text)
	if !ok {
		return nil, "", false
	}
	return variable, typeOf(variable), true
}

// named finds the item of a list that a cell names.
func (d *record) named(of *document.Node, list []string, heading, where string) (*document.Node, bool) {
	c, p := d.cell(heading)
	n, err := d.reader.text(c, p)
	if err != nil {
		d.reader.faults = append(d.reader.faults, err)
		return nil, false
	}
	var names []string
	if items := find(of, list); items != nil {
		for _, item := range items.Items {
			name := item.Get("name")
			if name == nil || name.Kind != document.Text {
				continue
			}
			if n != nil && name.Text == n.Text {
				return item, true
			}
			names = append(names, name.Text)
		}
	}
	if n == nil {
		d.reader.refuse(p, "", "found nothing, expected the name of a %s", heading)
		return nil, false
	}
	d.reader.refuse(p, document.Nearest(n.Text, names), "%s has no %s %q", where, heading, n.Text)
	return nil, false
}

// item reads one row.
func (r *reader) item(d *record, l *layout, typ string) *document.Node {
	first := &l.columns[0]
	if l.bare {
		c, p := d.cell(first.heading)
		n, err := r.value(first.kind, c, p, typ)
		if err == nil && n == nil {
			err = (&document.Node{}).ErrorAt(p, "", "found nothing, expected %s", first.heading)
		}
		if err != nil {
			r.faults = append(r.faults, err)
			return nil
		}
		return n
	}
	item := &document.Node{Kind: document.Map, Position: d.place()}
	for i := range l.columns {
		c, p := d.cell(l.columns[i].heading)
		r.property(item, &l.columns[i], c, p, typ)
	}
	further, p := d.cell(furtherHeading)
	if l.short && further.Text == "" && len(item.Pairs) == 1 && item.Pairs[0].Key == first.path[0] {
		return item.Pairs[0].Value
	}
	r.further(item, further, p)
	return item
}

// property reads a cell into its property.
func (r *reader) property(into *document.Node, c *column, cell Cell, p document.Position, typ string) {
	n, err := r.value(c.kind, cell, p, typ)
	if err != nil {
		r.faults = append(r.faults, err)
		return
	}
	if n != nil && !put(into, c.path, p, n) {
		r.refuse(p, "", "%s is set twice", c.heading)
	}
}

// further reads the lines of the last column. An empty map alone says that the
// row is a map where that could not be told otherwise.
func (r *reader) further(into *document.Node, cell Cell, p document.Position) {
	if cell.Text == "" || cell.Text == "{}" {
		return
	}
	if err := r.sort(cell, p); err != nil {
		r.faults = append(r.faults, err)
		return
	}
	for _, line := range strings.Split(cell.Text, "\n") {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		path, text, ok := splitPath(line)
		if !ok {
			r.refuse(p, "", `found %q, expected property = value, such as x-note = "checked"`, cut(line))
			continue
		}
		n, err := document.Parse("value.json", []byte(text))
		if err != nil {
			r.refuse(p, "", "the value of %s is %s: %s; a text stands in double quotes", pathText(path), cut(text), document.Faults(err)[0].Message)
			continue
		}
		if !put(into, path, p, place(n, p)) {
			r.refuse(p, "", "%s is set twice", pathText(path))
		}
	}
}

// cut shortens a text for a message.
func cut(text string) string {
	if runes := []rune(text); len(runes) > 60 {
		return string(runes[:59]) + "…"
	}
	return text
}

// splitPath parts a line into the way to a property and its value.
func splitPath(line string) (path []string, value string, ok bool) {
	for {
		line = strings.TrimSpace(line)
		key, rest, quoted := quotedPrefix(line)
		if !quoted {
			end := strings.IndexAny(line, ".=")
			if end < 0 {
				return nil, "", false
			}
			if key, rest = strings.TrimSpace(line[:end]), line[end:]; !plainKey.MatchString(key) {
				return nil, "", false
			}
		}
		path, rest = append(path, key), strings.TrimSpace(rest)
		switch {
		case strings.HasPrefix(rest, "."):
			line = rest[1:]
		case strings.HasPrefix(rest, "="):
			return path, strings.TrimSpace(rest[1:]), true
		default:
			return nil, "", false
		}
	}
}
