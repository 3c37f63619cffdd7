package codebook

import (
	"regexp"
	"strings"

	"heelcohort/codebook/document"
)

// placed is a value with the node it came from, so that a fault found later
// can point at it.
type placed[T any] struct {
	Value T
	node  *document.Node
}

func (p *placed[T]) UnmarshalDocument(n *document.Node) error {
	p.node = n
	return document.Decode(n, &p.Value)
}

func (p placed[T]) DocumentSchema() map[string]any { return document.Schema(p.Value) }

type (
	bareNumber  struct{ placed[bool] }
	orderedFlag struct{ placed[bool] }
)

// A length is a number of characters.
type length struct{ placed[int] }

// UnmarshalDocument reads a length and refuses negative ones.
func (l *length) UnmarshalDocument(n *document.Node) error {
	if err := l.placed.UnmarshalDocument(n); err != nil {
		return err
	}
	if l.Value < 0 {
		return n.Errorf("found %d, expected a length of at least 0", l.Value)
	}
	return nil
}

// DocumentSchema is that of a length.
func (length) DocumentSchema() map[string]any {
	return map[string]any{"type": "integer", "minimum": 0}
}

// A quotedDate is a date or time that stands for itself; it is not used, so
// it may stand without quotes.
type quotedDate string

var dateOrTime = regexp.MustCompile(`^[0-9]{4}(-[0-9]{2}(-[0-9]{2}([Tt ].*)?)?)?$`)

// UnmarshalDocument reads a date.
func (d *quotedDate) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.Text || !dateOrTime.MatchString(n.Text) {
		return n.Errorf("found %v, expected a date such as 2024-03-31", n.Kind)
	}
	*d = quotedDate(n.Text)
	return nil
}

// DocumentSchema is that of a date.
func (quotedDate) DocumentSchema() map[string]any {
	return map[string]any{"type": "string", "pattern": dateOrTime.String()}
}

// A missingCode is written as a text, or as a map with a label.
type missingCode struct {
	Code  document.String
	Label string
}

type rawMissing struct {
	Value document.String `doc:"value,required" about:"The code as it stands in a cell."`
	Label string          `doc:"label" about:"What it means."`
}

// UnmarshalDocument reads a code.
func (m *missingCode) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.Map {
		return document.Decode(n, &m.Code)
	}
	var raw rawMissing
	err := document.Decode(n, &raw)
	m.Code, m.Label = raw.Value, raw.Label
	return err
}

// DocumentSchema is that of a code.
func (missingCode) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"type": "string"}, document.Schema(rawMissing{})}}
}

// A category is written as its value, or as a map with a label.
type category struct {
	Value document.Scalar
	Label string
}

type rawCategory struct {
	Value document.Scalar `doc:"value,required" about:"The value as it stands in a cell."`
	Label string          `doc:"label" about:"What it means."`
}

// UnmarshalDocument reads a category.
func (c *category) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.Map {
		return document.Decode(n, &c.Value)
	}
	var raw rawCategory
	err := document.Decode(n, &raw)
	c.Value, c.Label = raw.Value, raw.Label
	return err
}

// DocumentSchema is that of a category.
func (category) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{document.Scalar{}.DocumentSchema(), document.Schema(rawCategory{})}}
}

// JSONSchema is the JSON Schema (2020-12) of a codebook. It knows the words
// and their kinds; Decode also checks that they fit together.
func JSONSchema() map[string]any {
	s := document.Schema(rawPackage{})
	s["title"] = "heelcohort codebook"
	s["description"] = strings.Join([]string{
		"A Data Package (version 2) descriptor with Table Schema fields.",
		"Keys that begin with x- or _ are accepted and not read.",
	}, " ")
	return s
}
