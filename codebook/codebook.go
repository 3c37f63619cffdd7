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
	Path                     string // relative to the codebook's folder
	Sheet                    string // heelcohort.sheet; "" is the only sheet
	HeaderRow                int    // heelcohort.header_row, from 1; default 1
	Schema                   Schema
	Position                 document.Position
}

// A Schema is a Table Schema.
type Schema struct {
	Fields        []*Field
	PrimaryKey    []string
	UniqueKeys    [][]string
	ForeignKeys   []ForeignKey
	MissingValues []MissingValue
	Rules         []Rule // heelcohort.rules of the resource
}

// A Field is one variable.
type Field struct {
	Name, Title, Description string
	Type                     string // string, integer, number, boolean, date, any other is refused
	Format                   string
	Constraints              Constraints
	Categories               []Category
	CategoriesOrdered        bool
	MissingValues            []MissingValue // of this field alone; nil inherits the schema's
	Unit                     string         // heelcohort.unit
	Role                     string         // heelcohort.role: "", identifier, quasi_identifier, free_text
	Position                 document.Position
}

// Constraints limit a field's values; nil and zero do not limit.
type Constraints struct {
	Required, Unique     bool
	Minimum, Maximum     *value.Value
	MinLength, MaxLength *int
	Pattern              string
	Enum                 []value.Value
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

// A Rule is a condition that every row must meet.
type Rule struct {
	Name     string
	Check    document.String // expression; false is a finding, missing is not
	Message  string
	Severity string   // error (default) or warning
	Fields   []string // where the finding is placed: variables used by Check
}

// A Fault is why a cell's text is not a legal value.
type Fault struct {
	Rule     string // type, category, minimum, maximum, pattern, required, enum, length
	Expected string
	Nearest  string
}

// Kind is the kind of the field's values.
func (f *Field) Kind() value.Kind { return value.Unknown }

// Label is the title, or the name where there is none.
func (f *Field) Label() string {
	if f.Title != "" {
		return f.Title
	}
	return f.Name
}

// Words lists the category values in order; nil for a field without.
func (f *Field) Words() []string { return nil }

// Parse turns a cell's text into a value, a missing value with its code, or a
// fault. Constraints on the single value are checked too.
func (f *Field) Parse(text string) (value.Value, *Fault) { return value.Value{}, nil }

// Field finds a field by name.
func (s *Schema) Field(name string) *Field { return nil }

// Resource finds a table by name.
func (p *Package) Resource(name string) *Resource { return nil }

// Decode reads a codebook from YAML or JSON.
func Decode(file string, data []byte) (*Package, error) { return nil, nil }
