package codebook

import (
	"fmt"
	"strings"
	"unicode"

	"heelcohort/codebook/document"
)

// A checker collects the faults of a codebook whose words are right and whose
// sense is not.
type checker struct {
	data   []byte
	faults []error
	steps  int // of all patterns
}

func (c *checker) add(err error) {
	if err != nil && !c.full() {
		c.faults = append(c.faults, err)
	}
}

// full reports whether there are more faults than will be told.
func (c *checker) full() bool { return len(c.faults) >= 10*document.MaxErrors }

// at is a fault at a place.
func (c *checker) at(p document.Position, nearest, format string, args ...any) {
	if c.full() {
		return
	}
	e := (&document.Node{}).ErrorAt(p, nearest, format, args...)
	e.Excerpt = document.Excerpt(c.data, p)
	c.add(e)
}

// text is a fault at a text.
func (c *checker) text(s document.String, nearest, format string, args ...any) {
	c.add(s.Errorf(1, 1, nearest, format, args...))
}

// name refuses a name that could not stand in a message, a header or a file.
func (c *checker) name(s document.String, what string) {
	switch {
	case Bare(s.Value) == "":
		c.text(s, "", "an empty name, expected the name of the %s", what)
	case Bare(s.Value) != s.Value:
		c.text(s, Bare(s.Value), "name %q begins or ends with a blank", s.Value)
	case strings.ContainsFunc(s.Value, unicode.IsControl):
		c.text(s, "", "name %q holds a control character", s.Value)
	}
}

// unique refuses a name that stood before.
func (c *checker) unique(seen map[string]document.Position, s document.String, what string) {
	if first, again := seen[s.Value]; again {
		where := fmt.Sprintf("line %d", first.Line)
		if first.Line == 0 { // no text file, but the sheet of one, with the cell in its name
			where = first.String()
		}
		c.at(s.Position, "", "%s %q stands twice, first at %s", what, s.Value, where)
		return
	}
	seen[s.Value] = s.Position
}

// unsupported refuses a property that would change how the data are read.
func (c *checker) unsupported(n *document.Node, what, instead string) {
	if n == nil {
		return
	}
	message := what + " is not supported"
	if instead != "" {
		message += ": " + instead
	}
	c.add(n.Errorf("%s", message))
}

// texts are the values of texts.
func texts(list []document.String) []string {
	var out []string
	for _, s := range list {
		out = append(out, s.Value)
	}
	return out
}
