package draft

import (
	"fmt"
	"path"
	"strings"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// preamble begins every draft.
const preamble = `# A DRAFT: every line below was guessed from the data files and none is known.
#
# A person who knows the study must confirm each variable: its type, unit,
# categories, missing codes, role and keys. x-guessed gives the reason of each
# guess, x-notes what is in doubt, x-observed what was seen; none of the three
# is read. Take them away from what is confirmed.
#
# What is not here because it cannot be guessed: what a variable means and how
# it was measured (description), labels of categories and codes, the limits of
# what is possible (constraints: minimum, maximum; what was seen is no limit),
# whether a value is required, and rules between variables.
#
# The draft shows words and ranges of the data. Keep it within the study.
`

// write writes the tables as YAML. Every text stands in double quotes, in which
// YAML reads as JSON does.
func write(tables []*table, leftOut []string) string {
	w := &writer{}
	w.b.WriteString(preamble)
	for i, reason := range leftOut {
		if i == 0 {
			w.line(0, "#")
			w.line(0, "# Left out, so that a check finds nothing in them:")
		}
		w.line(0, "#   %s", strings.Map(oneLine, reason))
	}
	w.line(0, "name: %s", quote(packageName(tables)))
	w.line(0, "resources:")
	for _, t := range tables {
		w.table(t)
	}
	return w.b.String()
}

func oneLine(r rune) rune {
	if r < ' ' || r == 0x7f || r == 0x85 || r == 0x2028 || r == 0x2029 {
		return ' '
	}
	return r
}

// packageName is the name of the first file.
func packageName(tables []*table) string {
	base := path.Base(tables[0].path)
	if id := identifier(strings.TrimSuffix(base, path.Ext(base))); id != "" {
		return strings.ReplaceAll(id, "_", "-")
	}
	return "draft"
}

// A writer writes lines of YAML.
type writer struct{ b strings.Builder }

func (w *writer) line(depth int, format string, args ...any) {
	w.b.WriteString(strings.Repeat("  ", depth))
	fmt.Fprintf(&w.b, format, args...)
	w.b.WriteByte('\n')
}

func (w *writer) table(t *table) {
	w.line(1, "- name: %s", quote(t.id))
	w.line(2, "path: %s", quote(t.path))
	why := []pair{{"header_row", "the first row as full as the others"}}
	if t.name == "" {
		w.line(2, "encoding: %s", quote(t.encoding))
		w.line(2, "dialect: {delimiter: %s}", quote(t.delimiter))
		why = append(why, pair{"encoding, delimiter", "as the file was read"})
	}
	own := fmt.Sprintf("header_row: %d", t.header)
	if t.name != "" {
		own = "sheet: " + quote(t.name) + ", " + own
	}
	w.line(2, "heelcohort: {%s}", own)
	for _, k := range t.foreign {
		why = append(why, pair{"foreignKeys " + k.field, k.why})
	}
	w.pairs(2, "x-guessed", append(why, t.why...))
	w.list(2, "x-notes", t.notes)
	w.line(2, "x-observed: {rows: %d}", t.rows)
	w.line(2, "schema:")
	w.line(3, "fields:")
	for _, f := range t.fields {
		w.field(f)
	}
	if len(t.primary) > 0 {
		w.line(3, "primaryKey: %s", flow(t.primary))
	}
	if len(t.foreign) > 0 {
		w.line(3, "foreignKeys:")
	}
	for _, k := range t.foreign {
		w.line(4, "- fields: %s", flow([]string{k.field}))
		w.line(5, "reference: {resource: %s, fields: %s}", quote(k.table), flow([]string{k.reference}))
	}
}

func (w *writer) field(f *field) {
	title := f.column.title
	w.line(4, "- name: %s", quote(f.id))
	if f.id != title {
		w.line(5, "title: %s", quote(title))
	}
	w.line(5, "type: %s", f.typ)
	for _, p := range []pair{{"format", f.format}, {"decimalChar", f.decimal}, {"groupChar", f.groupMark}} {
		if p.text != "" {
			w.line(5, "%s: %s", p.key, quote(p.text))
		}
	}
	if f.loose {
		w.line(5, "bareNumber: false")
	}
	if f.trues != nil {
		w.line(5, "trueValues: %s", flow(f.trues))
	}
	if f.falses != nil {
		w.line(5, "falseValues: %s", flow(f.falses))
	}
	if f.categories != nil {
		w.line(5, "categories:")
		for _, c := range f.categories {
			w.line(6, "- {value: %s}", quote(c))
		}
	}
	w.missing(f)
	var own []string
	if f.unit != "" {
		own = append(own, "unit: "+quote(f.unit))
	}
	if f.role != "" {
		own = append(own, "role: "+f.role)
	}
	if f.id != title {
		own = append(own, "titles: "+flow([]string{title}))
	}
	if f.column.doubled {
		own = append(own, "column: "+letters(f.column.at))
	}
	if own != nil {
		w.line(5, "heelcohort: {%s}", strings.Join(own, ", "))
	}
	w.pairs(5, "x-guessed", f.why)
	w.list(5, "x-notes", f.notes)
	seen := fmt.Sprintf("values: %d, empty: %d", f.values, f.empty)
	if f.low != "" && f.typ == codebook.TypeDate {
		seen += ", first_year: " + f.low + ", last_year: " + f.high
	} else if f.low != "" {
		seen += ", minimum: " + f.low + ", maximum: " + f.high
	}
	w.line(5, "x-observed: {%s}", seen)
}

// letters is a column's name in a sheet.
func letters(column int) string {
	return strings.TrimSuffix(dataset.Origin{Sheet: "a", Row: 1, Column: column}.Cell(), "1")
}

// missing writes the suspected codes. A list of codes replaces the default, so
// that the empty cell must be among them where there are any.
func (w *writer) missing(f *field) {
	if len(f.guess.missing) == 0 {
		return
	}
	w.line(5, "missingValues:")
	if f.empty > 0 {
		w.line(6, `- {value: "", label: "empty"}`)
	}
	for _, c := range f.guess.missing {
		w.line(6, "- {value: %s, label: %s}", quote(c.text), quote("suspected code "+c.text+": say what it means"))
	}
}

// pairs writes a map of sentences.
func (w *writer) pairs(depth int, key string, list []pair) {
	if len(list) == 0 {
		return
	}
	w.line(depth, "%s:", key)
	for _, p := range list {
		w.line(depth+1, "%s: %s", quote(p.key), quote(p.text))
	}
}

// list writes a list of sentences.
func (w *writer) list(depth int, key string, list []string) {
	if len(list) == 0 {
		return
	}
	w.line(depth, "%s:", key)
	for _, text := range list {
		w.line(depth+1, "- %s", quote(text))
	}
}

// flow writes a short list of texts.
func flow(list []string) string {
	quoted := make([]string, len(list))
	for i, text := range list {
		quoted[i] = quote(text)
	}
	return "[" + strings.Join(quoted, ", ") + "]"
}
