package codebook

import (
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// A Package is the codebook: a Data Package (version 2) descriptor.
type Package struct {
	Name, Title, Description, Version string
	Resources                         []*Resource
}

// A Resource is one table of the study.
type Resource struct {
	Name, Title, Description string
	Path                     string // relative to the codebook's folder, with slashes
	Sheet                    string // heelcohort.sheet or dialect.sheetName; "" is the only sheet
	HeaderRow                int    // heelcohort.header_row or dialect.headerRows, from 1; default 1; the first of several
	HeaderRows               []int  // dialect.headerRows where they are several, one below the other; else nil
	HeaderJoin               string // dialect.headerJoin of several rows, a blank by default; joins the parts of a title
	Bytes                    *int   // size that the file is said to have; nil where not said
	Hash                     string // digest that the file is said to have, "sha256:…"; "" where not said
	Encoding                 string // of a text file, one of Encodings; "" where not said, and then detected
	Dialect                  Dialect
	Schema                   Schema
	Anonymity                *Anonymity // heelcohort.k_anonymity; nil where not said
	Position                 document.Position
}

// A Dialect is how a text file is said to be written. What is zero is not
// said: the separator and the line end are then detected, and the quote is the
// double one.
type Dialect struct {
	Delimiter      string // comma, semicolon, tab or bar
	QuoteChar      string // double or single quotation mark
	LineTerminator string // "\n", "\r\n" or "\r"
	DoubleQuote    *bool  // whether a quote inside quotes is written twice; nil is yes
}

// A Schema is a Table Schema.
type Schema struct {
	Fields        []*Field
	PrimaryKey    []string
	UniqueKeys    [][]string
	ForeignKeys   []ForeignKey
	MissingValues []MissingValue // of fields without their own; default the empty cell
	Rules         []Rule         // heelcohort.rules of the resource
}

// Field finds a field by name.
func (s *Schema) Field(name string) *Field {
	for _, f := range s.Fields {
		if f.Name == name {
			return f
		}
	}
	return nil
}

// Names lists the fields' names.
func (s *Schema) Names() []string {
	names := make([]string, len(s.Fields))
	for i, f := range s.Fields {
		names[i] = f.Name
	}
	return names
}

// Resource finds a table by name.
func (p *Package) Resource(name string) *Resource {
	for _, r := range p.Resources {
		if r.Name == name {
			return r
		}
	}
	return nil
}

// Names lists the tables' names.
func (p *Package) Names() []string {
	names := make([]string, len(p.Resources))
	for i, r := range p.Resources {
		names[i] = r.Name
	}
	return names
}

// Constraints limit a field's values; nil and zero do not limit.
type Constraints struct {
	Required, Unique                   bool
	Minimum, Maximum                   *value.Value
	ExclusiveMinimum, ExclusiveMaximum *value.Value
	MinLength, MaxLength               *int
	Pattern                            string // matches the whole text
	Enum                               []value.Value
}

// A Category is one legal value of a categorical field.
type Category struct{ Value, Label string }

// A MissingValue is one missing code, as written in a cell.
type MissingValue struct{ Value, Label string }

// A ForeignKey says that Fields of this table name a row of Resource.
// Resource is "" for the table itself.
type ForeignKey struct {
	Fields          []string
	Resource        string
	ReferenceFields []string
}

// A Fault is why a cell's text is not a legal value.
type Fault struct {
	Rule     string // type, category, minimum, maximum, pattern, required, enum, length, plausible minimum, plausible maximum
	Expected string // "a number of at least 95 and at most 200 cm"
	Nearest  string // the nearest legal text, or ""
}
