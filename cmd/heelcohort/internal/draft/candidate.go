package draft

import (
	"fmt"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// A reading is a way in which a column might be read, as the codebook would
// say it. Its field is the codebook's own, so that a guess that a cell can be
// read is the reader's own word.
type reading struct {
	typ                string
	format             string // of a date
	decimal, groupMark string // of a number
	loose              bool
	field              *codebook.Field
}

// newReading makes the field of a reading. The words are this package's own;
// that the codebook accepts them is tested.
func newReading(r reading) reading {
	var b strings.Builder
	fmt.Fprintf(&b, `{"name":"a","resources":[{"name":"a","path":"a.csv","schema":{"fields":[{"name":"a","missingValues":[],"type":%s`, quote(r.typ))
	for _, p := range []struct{ key, text string }{{"format", r.format}, {"decimalChar", r.decimal}, {"groupChar", r.groupMark}} {
		if p.text != "" {
			fmt.Fprintf(&b, ",%q:%s", p.key, quote(p.text))
		}
	}
	if r.loose {
		b.WriteString(`,"bareNumber":false`)
	}
	b.WriteString(`}]}}]}`)
	pkg, err := codebook.Decode("reading.json", []byte(b.String()))
	if err != nil {
		panic("draft: " + err.Error())
	}
	r.field = pkg.Resources[0].Schema.Fields[0]
	return r
}

// of is the value that a cell has in this reading.
func (r reading) of(c dataset.GridCell) (value.Value, bool) {
	text := c.Text
	switch c.Stored {
	case dataset.StoredError, dataset.StoredFormula:
		return value.Value{}, false
	case dataset.StoredBoolean:
		return value.Truth(text == "TRUE"), r.typ == codebook.TypeBoolean
	case dataset.StoredDate:
		return value.Value{}, r.typ == codebook.TypeDate && c.Day != ""
	case dataset.StoredNumber:
		switch r.typ {
		case codebook.TypeDate:
			return value.Value{}, c.Shown == dataset.ShownDate && c.Day != ""
		case codebook.TypeBoolean:
			return value.Value{}, false
		case codebook.TypeInteger:
			if strings.Contains(text, ".") || c.Shown == dataset.ShownDate {
				return value.Value{}, false
			}
		case codebook.TypeNumber:
			if c.Shown == dataset.ShownDate {
				return value.Value{}, false
			}
			if r.decimal != "" {
				text = strings.Replace(text, ".", r.decimal, 1)
			}
		}
	case dataset.StoredText:
	}
	v, fault := r.field.Parse(text)
	return v, fault == nil && !v.Missing
}

// hits counts the cells that can be read so.
func (r reading) hits(cells []seenCell) int {
	n := 0
	for _, c := range cells {
		if _, ok := r.of(c.GridCell); ok {
			n += c.count
		}
	}
	return n
}

// total is the number of cells.
func total(cells []seenCell) int {
	n := 0
	for _, c := range cells {
		n += c.count
	}
	return n
}

// mostly reports whether so many hits make a type of so many cells: nine in
// ten, so that the rest can be findings.
func mostly(hits, of int) bool { return hits > 0 && 10*hits >= 9*of }
