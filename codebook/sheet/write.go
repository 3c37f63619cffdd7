package sheet

import (
	"strings"

	"heelcohort/codebook/document"
)

// Write turns a codebook into the sheets of a workbook, the read me first. A
// text that is longer than a cell holds is an *document.Error. A document that is
// no map is one too; any other, good codebook or not, has its sheets.
func Write(root *document.Node) ([]Sheet, error) {
	w := &writer{rows: map[*layout][][]string{}}
	if root.Kind != document.Map {
		return nil, root.Errorf("found %v, expected a map", root.Kind)
	}
	properties := w.study(clone(root))
	if err := document.Join(w.faults...); err != nil {
		return nil, err
	}
	sheets := []Sheet{readMe(), list(studySheet, []string{propertyHeading, valueHeading}, []float64{20, 90}, properties)}
	for _, l := range layouts {
		headings, widths := l.headings()
		s := list(l.name, headings, widths, w.rows[l])
		s.Frozen, s.Choices = len(l.parents), make([][]string, len(headings))
		if l.columns[0].heading == tableHeading || l == &variables {
			s.Frozen++
		}
		for i := range l.columns {
			s.Choices[len(l.parents)+i] = l.columns[i].choices()
		}
		sheets = append(sheets, s)
	}
	return sheets, nil
}

// list makes a sheet of headings and rows.
func list(name string, headings []string, widths []float64, rows [][]string) Sheet {
	s := Sheet{Name: name, Widths: widths}
	for i, texts := range append([][]string{headings}, rows...) {
		row := Row{Number: i + 1}
		for _, text := range texts {
			row.Cells = append(row.Cells, Cell{Text: text, Heading: i == 0})
		}
		for len(row.Cells) < len(headings) {
			row.Cells = append(row.Cells, Cell{})
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// headings are those of all columns, with their widths.
func (l *layout) headings() ([]string, []float64) {
	var headings []string
	var widths []float64
	for _, p := range l.parents {
		headings, widths = append(headings, p), append(widths, 18)
	}
	for _, c := range l.columns {
		headings, widths = append(headings, c.heading), append(widths, c.width)
	}
	if !l.bare {
		headings, widths = append(headings, furtherHeading), append(widths, 40)
	}
	return headings, widths
}

type writer struct {
	rows   map[*layout][][]string
	faults []error
}

// study writes the properties of the codebook and all its lists.
func (w *writer) study(root *document.Node) [][]string {
	var rows [][]string
	for _, c := range study {
		text, _ := w.take(root, &c, "")
		rows = append(rows, []string{c.heading, text})
	}
	w.tables(root)
	for _, l := range []*layout{&contributors, &licences, &sources} {
		w.list(root, l, nil, "")
	}
	for _, line := range w.rest(root, nil, nil) {
		text := line[0] + " = " + line[1]
		w.measure(root, text)
		rows = append(rows, []string{furtherHeading, text})
	}
	return rows
}

// tables writes every table with what it holds. Tables without names of their
// own have no rows.
func (w *writer) tables(root *document.Node) {
	resources := root.Get("resources")
	if !named(resources) {
		return
	}
	drop(root, tables.list)
	for _, r := range resources.Items {
		name := r.Get("name").Text
		if fields := find(r, variables.list); named(fields) {
			drop(r, variables.list)
			for _, f := range fields.Items {
				w.variable(f, name)
			}
		}
		at := cellText(name)
		if schema := r.Get("schema"); schema != nil && schema.Kind == document.Map {
			w.list(schema, &missing, []string{at, ""}, "")
			if len(schema.Pairs) == 0 {
				drop(r, []string{"schema"})
			}
		}
		for _, l := range []*layout{&foreignKeys, &uniqueKeys, &rules} {
			w.list(r, l, []string{at}, "")
		}
		w.row(&tables, r, nil, "")
	}
}

// variable writes a variable with its categories and codes.
func (w *writer) variable(f *document.Node, table string) {
	parents := []string{cellText(table), cellText(f.Get("name").Text)}
	typ := typeOf(f)
	w.list(f, &categories, parents, typ)
	w.list(f, &missing, parents, typ)
	w.row(&variables, f, parents[:1], typ)
}

// typeOf is the type that a variable says it has.
func typeOf(f *document.Node) string {
	if t := f.Get("type"); t != nil && t.Kind == document.Text {
		return t.Text
	}
	return ""
}

// named reports whether n is a list of maps with names that differ.
func named(n *document.Node) bool {
	if n == nil || n.Kind != document.List || len(n.Items) == 0 {
		return false
	}
	seen := map[string]bool{}
	for _, item := range n.Items {
		name := item.Get("name")
		if item.Kind != document.Map || name == nil || name.Kind != document.Text || seen[name.Text] {
			return false
		}
		if _, fits := cellOf(textKind, name, ""); !fits {
			return false
		}
		seen[name.Text] = true
	}
	return true
}

// list writes a list as rows, if each of its items can be a row.
func (w *writer) list(of *document.Node, l *layout, parents []string, typ string) {
	n := find(of, l.list)
	if n == nil || n.Kind != document.List || len(n.Items) == 0 {
		return
	}
	first := &l.columns[0]
	for _, item := range n.Items {
		switch {
		case item.Kind == document.Map && !l.bare:
			if v := find(item, first.path); l.short && v != nil {
				if _, fits := cellOf(first.kind, v, typ); !fits {
					return
				}
			}
		case l.short:
			if _, fits := cellOf(first.kind, item, typ); !fits {
				return
			}
		default:
			return
		}
	}
	drop(of, l.list)
	for _, item := range n.Items {
		w.row(l, item, parents, typ)
	}
}

// row writes one item.
func (w *writer) row(l *layout, item *document.Node, parents []string, typ string) {
	cells := append([]string(nil), parents...)
	if item.Kind != document.Map || l.bare {
		text, _ := cellOf(l.columns[0].kind, item, typ)
		w.measure(item, text)
		w.rows[l] = append(w.rows[l], append(cells, text))
		return
	}
	before := len(cells)
	for i := range l.columns {
		text, _ := w.take(item, &l.columns[i], typ)
		cells = append(cells, text)
	}
	var lines []string
	for _, line := range w.rest(item, nil, l.nests) {
		lines = append(lines, line[0]+" = "+line[1])
	}
	if l.short {
		before++ // the value alone would be no map
	}
	if len(lines) == 0 && strings.Join(cells[before:], "") == "" {
		lines = append(lines, "{}")
	}
	further := strings.Join(lines, "\n")
	w.measure(item, further)
	w.rows[l] = append(w.rows[l], append(cells, further))
}

// take writes a column's property and removes it from the map, if it can stand
// in the column.
func (w *writer) take(from *document.Node, c *column, typ string) (string, bool) {
	n := find(from, c.path)
	if n == nil {
		return "", false
	}
	text, fits := cellOf(c.kind, n, typ)
	if !fits {
		return "", false
	}
	w.measure(n, text)
	drop(from, c.path)
	return text, true
}

// rest lists what is left of a map, as paths and values in JSON.
func (w *writer) rest(n *document.Node, prefix, nests []string) [][2]string {
	var lines [][2]string
	for _, p := range n.Pairs {
		path := append(append([]string(nil), prefix...), p.Key)
		if p.Value.Kind == document.Map && len(p.Value.Pairs) > 0 && contains(nests, strings.Join(path, ".")) {
			lines = append(lines, w.rest(p.Value, path, nests)...)
			continue
		}
		text, err := document.CompactJSON(p.Value)
		if err != nil {
			w.faults = append(w.faults, err)
		}
		w.measure(p.Value, text)
		lines = append(lines, [2]string{pathText(path), text})
	}
	return lines
}

// measure refuses a text that no cell holds.
func (w *writer) measure(n *document.Node, text string) {
	if size := units(text); size > maxCell {
		w.faults = append(w.faults, n.Errorf("takes %d characters in a spreadsheet, more than the %d of a cell", size, maxCell))
	}
}

func contains(list []string, word string) bool {
	for _, w := range list {
		if w == word {
			return true
		}
	}
	return false
}
