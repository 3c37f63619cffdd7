package codebook

import (
	"regexp"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// The types of fields.
const (
	TypeString  = "string"
	TypeInteger = "integer"
	TypeNumber  = "number"
	TypeBoolean = "boolean"
	TypeDate    = "date"

	// TypeDatetime is a day with a time of day. The time is checked and left
	// aside: the value is the day, as of a date.
	TypeDatetime = "datetime"
	TypeList     = "list"
)

// types lists the types of fields.
var types = []string{TypeString, TypeInteger, TypeNumber, TypeBoolean, TypeDate, TypeDatetime, TypeList}

// A Field is one variable. Parse works on fields that Decode made.
type Field struct {
	Name, Title, Description string
	Type                     string // string, integer, number, boolean, date, datetime, list; any other is refused
	Format                   string // of a date or datetime: "" or default is 2024-03-31, else a pattern
	Constraints              Constraints
	Plausible                Plausible // heelcohort.plausible
	Categories               []Category
	CategoriesOrdered        bool
	MissingValues            []MissingValue // of this field alone; nil inherits the schema's
	TrueValues, FalseValues  []string       // of a boolean; nil is the standard's words
	DecimalChar, GroupChar   string         // of a number; "" is a point and none
	Loose                    bool           // of a number: bareNumber is false, a unit may stand around it
	Delimiter                string         // of a list: what separates its items
	Items                    []Category     // heelcohort.items of a list; nil leaves them open
	Unit                     string         // heelcohort.unit
	Role                     string         // heelcohort.role: "", identifier, quasi_identifier, free_text
	Titles                   []string       // heelcohort.titles: other spellings of the column's title
	Column                   string         // heelcohort.column: letters of the column, "" where not said
	Percent                  string         // heelcohort.percent of a number: "", stored or shown
	Exception                Exception      // heelcohort.exception
	Position                 document.Position

	codes     []MissingValue     // own or inherited
	spellings map[float64]string // the codes that are numbers or dates
	words     []string           // of categories
	pattern   *regexp.Regexp     // of the constraint
	layout    layout             // of a date
}

// Kind is the kind of the field's values. A field with categories holds texts,
// whatever its type: the numbers of a coded variable are names and not
// amounts.
func (f *Field) Kind() value.Kind {
	if len(f.Categories) > 0 {
		return value.Text
	}
	switch f.Type {
	case TypeString, TypeList:
		return value.Text
	case TypeInteger, TypeNumber:
		return value.Number
	case TypeBoolean:
		return value.Bool
	case TypeDate, TypeDatetime:
		return value.Date
	}
	return value.Unknown
}

// Label is the title, or the name where there is none.
func (f *Field) Label() string {
	if f.Title != "" {
		return f.Title
	}
	return f.Name
}

// Words lists the category values in order; nil for a field without. The
// caller must not change it.
func (f *Field) Words() []string { return f.words }

// Codes lists the missing codes that hold for the field, its own or its
// schema's. The caller must not change it.
func (f *Field) Codes() []MissingValue { return f.codes }

// code finds the missing code that a cell's bare text is, blanks around the
// code aside.
func (f *Field) code(bare string) (string, bool) {
	if f.Type == TypeNumber || f.Type == TypeInteger {
		bare = plainSigns(bare)
	}
	for _, m := range f.codes {
		if m.Value == bare || Bare(m.Value) == bare {
			return m.Value, true
		}
	}
	return "", false
}
