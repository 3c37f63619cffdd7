package dataset

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// A State says what a cell holds.
type State uint8

// A cell is present, missing by a declared code, or invalid: it has a finding
// and no value.
const (
	Present State = iota
	Missing
	Invalid
)

// String is the word for s in frames and messages.
func (s State) String() string {
	switch s {
	case Present:
		return "present"
	case Missing:
		return "missing"
	}
	return "invalid"
}

// A Column is one variable of a table: typed values in one slice, the missing
// codes kept apart from them.
type Column struct {
	Name    string
	Label   string
	Unit    string
	Kind    value.Kind
	Words   []string        // legal texts in order, nil when open
	Labels  []string        // label of each word; nil when they have none
	Ordered bool            // the words have an order
	Field   *codebook.Field // nil for a derived variable
	Index   int             // column in the sheet, from 1; 0 for a derived variable

	Number []float64 // Kind Number and Date; NaN where not present
	Text   []string  // Kind Text
	Bool   []bool    // Kind Bool
	State  []State

	codes  codes             // missing code where State is Missing
	source *sources          // the cells' texts as read; nil for a derived variable
	known  map[string]string // texts that recur, while the column is filled
	held   int               // bytes of texts that are the column's own
}

// Len is the number of rows.
func (c *Column) Len() int { return len(c.State) }

// Value returns row i's value. An invalid cell is missing with the code
// value.CodeFault.
func (c *Column) Value(i int) value.Value {
	switch c.State[i] {
	case Missing:
		return value.None(c.Kind, c.Code(i))
	case Invalid:
		return value.None(c.Kind, value.CodeFault)
	}
	switch c.Kind {
	case value.Number, value.Date:
		return value.Value{Kind: c.Kind, Number: c.Number[i]}
	case value.Text:
		return value.Str(c.Text[i])
	case value.Bool:
		return value.Truth(c.Bool[i])
	}
	return value.None(c.Kind, value.CodeUndefined)
}

// NewColumn makes a derived column from values of one kind. A value that is
// present and of another kind is the caller's mistake.
func NewColumn(name, label, unit string, kind value.Kind, words []string, values []value.Value) *Column {
	c := &Column{Name: name, Label: label, Unit: unit, Kind: kind, Words: words}
	for i, v := range values {
		if !v.Missing && v.Kind != kind {
			panic(fmt.Sprintf("dataset: value %d of column %q is a %v, expected a %v", i, name, v.Kind, kind))
		}
		if v.Missing {
			c.add(v, Missing)
		} else {
			c.add(v, Present)
		}
	}
	return c
}

// fieldColumn is an empty column for a field that stands in a column of the
// file, from 1.
func fieldColumn(f *codebook.Field, index int) *Column {
	c := &Column{
		Name: f.Name, Label: f.Label(), Unit: f.Unit, Kind: f.Kind(), Words: f.Words(),
		Ordered: f.CategoriesOrdered, Field: f, Index: index, source: &sources{},
	}
	if len(f.Categories) > 0 && slices.ContainsFunc(f.Categories, func(k codebook.Category) bool { return k.Label != "" }) {
		for _, k := range f.Categories {
			label := k.Label
			if label == "" {
				label = k.Value
			}
			c.Labels = append(c.Labels, label)
		}
	}
	return c
}

// add appends a row. v gives the value where state is Present and the code
// where it is Missing.
func (c *Column) add(v value.Value, state State) {
	c.State = append(c.State, state)
	code := ""
	if state == Missing {
		code = v.Code
	}
	c.codes.add(code)
	present := state == Present
	switch c.Kind {
	case value.Number, value.Date:
		x := math.NaN()
		if present {
			x = v.Number
		}
		c.Number = append(c.Number, x)
	case value.Text:
		text := ""
		if present {
			text = c.own(v.Text)
		}
		c.Text = append(c.Text, text)
	case value.Bool:
		c.Bool = append(c.Bool, present && v.Bool)
	}
}

// own is a text that does not hold on to the row that it was read with. Texts
// that recur are kept once.
func (c *Column) own(text string) string {
	if c.source == nil || len(c.Words) > 0 || text == "" {
		return text // of a derived variable, or a word of the codebook
	}
	if known, ok := c.known[text]; ok {
		return known
	}
	text = strings.Clone(text)
	c.held += len(text)
	if len(c.known) < recurTexts {
		if c.known == nil {
			c.known = make(map[string]string)
		}
		c.known[text] = text
	}
	return text
}

// reserve makes room for n rows in all.
func (c *Column) reserve(n int) {
	more := n - c.Len()
	if more <= 0 {
		return
	}
	c.State = slices.Grow(c.State, more)
	c.codes.at = slices.Grow(c.codes.at, more)
	switch c.Kind {
	case value.Number, value.Date:
		c.Number = slices.Grow(c.Number, more)
	case value.Text:
		c.Text = slices.Grow(c.Text, more)
	case value.Bool:
		c.Bool = slices.Grow(c.Bool, more)
	}
	if s := c.source; s != nil && c.Len() > 0 {
		s.at = slices.Grow(s.at, more)
		s.data = slices.Grow(s.data, len(s.data)*more/c.Len())
	}
}

// filled drops what only the filling needed.
func (c *Column) filled() {
	c.known = nil
	if c.source != nil {
		c.source.known = nil
	}
}

// spoil makes row i invalid.
func (c *Column) spoil(i int) {
	c.State[i], c.codes.at[i] = Invalid, 0
	switch c.Kind {
	case value.Number, value.Date:
		c.Number[i] = math.NaN()
	case value.Text:
		if c.source != nil && c.source.at[i] == sameText {
			c.source.put(i, c.Text[i])
		}
		c.Text[i] = ""
	case value.Bool:
		c.Bool[i] = false
	}
}

// pick is the column with the rows at the given indexes.
func (c *Column) pick(index []int) *Column {
	n := *c
	n.Number = pick(c.Number, index)
	n.Text = pick(c.Text, index)
	n.Bool = pick(c.Bool, index)
	n.State = pick(c.State, index)
	n.codes.at, n.codes.index = pick(c.codes.at, index), nil
	n.codes.words = slices.Clip(c.codes.words)
	n.source = c.source.pick(index)
	return &n
}

// pick gathers elements; nil stays nil.
func pick[T any](from []T, index []int) []T {
	if from == nil {
		return nil
	}
	to := make([]T, len(index))
	for i, j := range index {
		to[i] = from[j]
	}
	return to
}
