package codebook

import (
	"slices"
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// otherTypes are the types of the standard that are not read, each with the
// nearest one that is.
var otherTypes = map[string]string{
	"any": "string", "object": "", "array": "list", "time": "", "year": "integer",
	"yearmonth": "date", "duration": "number", "geopoint": "", "geojson": "",
}

// field makes a field and checks that its properties fit together.
func (c *checker) field(raw *rawField, inherited []MissingValue) *Field {
	f := &Field{
		Name: raw.Name.Value, Title: raw.Title, Description: raw.Description, Type: raw.Type.Value,
		Unit: raw.Own.Unit, Role: raw.Own.Role, Position: raw.Position,
	}
	if !c.fieldType(raw) {
		return f
	}
	c.notation(f, raw)
	c.place(f, raw)
	f.codes = inherited
	if raw.MissingValues != nil {
		f.codes = c.codes(*raw.MissingValues)
		f.MissingValues = f.codes
	}
	if raw.Categories != nil {
		c.categories(f, raw)
	} else if o := raw.CategoriesOrdered; o != nil {
		c.add(o.node.Errorf("categoriesOrdered without categories"))
	}
	c.constraints(f, &raw.Constraints)
	c.plausible(f, raw.Own.Plausible)
	f.Exception = c.exception(raw.Own.Exception)
	c.spellings(f)
	c.codesAreNoValues(f, raw)
	return f
}

func (c *checker) fieldType(raw *rawField) bool {
	word := raw.Type.Value
	for _, t := range types {
		if t == word {
			return true
		}
	}
	if nearest, known := otherTypes[word]; known {
		c.text(raw.Type, nearest, "type %q is not supported, expected one of %s", word, strings.Join(types, ", "))
	} else {
		c.text(raw.Type, document.Nearest(word, types), "unknown type %q, expected one of %s", word, strings.Join(types, ", "))
	}
	return false
}

// notation checks the properties that say how values are written.
func (c *checker) notation(f *Field, raw *rawField) {
	c.list(f, raw)
	if s := raw.Format; s != nil {
		f.Format = s.Value
		if !f.isDay() && f.Format != "default" {
			hint := ""
			if f.Type == TypeString {
				hint = ": limit the text by a pattern"
			}
			c.text(*s, "", "format %q of %s is not supported%s", f.Format, article(f.Type), hint)
		}
	}
	if f.isDay() {
		layout, err := newLayout(f.Format, f.Type == TypeDatetime)
		if err != nil {
			c.text(*raw.Format, "", "%v", err)
		}
		f.layout = layout
	}
	c.truths(f, raw)
	c.numbers(f, raw)
	c.percent(f, raw)
}

func (c *checker) truths(f *Field, raw *rawField) {
	for _, p := range []struct {
		name string
		list *[]document.String
		into *[]string
	}{{"trueValues", raw.TrueValues, &f.TrueValues}, {"falseValues", raw.FalseValues, &f.FalseValues}} {
		if p.list == nil {
			continue
		}
		if f.Type != TypeBoolean {
			c.at(raw.Name.Position, "", "%s of %s, expected a boolean", p.name, article(f.Type))
			continue
		}
		*p.into = []string{}
		if len(*p.list) == 0 {
			c.at(raw.Name.Position, "", "%s of %s is empty, expected at least one word", p.name, f.Name)
		}
		for _, s := range *p.list {
			if Bare(s.Value) != s.Value || s.Value == "" {
				c.text(s, "", "%q in %s is empty or has blanks around it", s.Value, p.name)
			}
			*p.into = append(*p.into, s.Value)
		}
	}
	if f.Type != TypeBoolean {
		return
	}
	trues, falses := f.truths()
	for _, t := range trues {
		for _, w := range falses {
			if t == w {
				c.at(raw.Name.Position, "", "%q says true and false", t)
			}
		}
	}
}

// groupMarks are the marks that may stand between thousands.
var groupMarks = []string{" ", ",", ".", "'", "’", "\u00a0", "\u2009", "\u202f"}

func (c *checker) numbers(f *Field, raw *rawField) {
	amount := f.Type == TypeNumber || f.Type == TypeInteger
	if s := raw.DecimalChar; s != nil {
		switch {
		case f.Type != TypeNumber:
			c.text(*s, "", "decimalChar of %s, expected a number", article(f.Type))
		case s.Value != "." && s.Value != ",":
			c.text(*s, "", `decimalChar %q, expected "." or ","`, s.Value)
		default:
			f.DecimalChar = s.Value
		}
	}
	if s := raw.GroupChar; s != nil {
		point := f.DecimalChar
		if point == "" {
			point = "."
		}
		switch {
		case !amount:
			c.text(*s, "", "groupChar of %s, expected a number", article(f.Type))
		case !slices.Contains(groupMarks, s.Value):
			c.text(*s, "", "groupChar %q, expected a comma, a point, an apostrophe or a space", s.Value)
		case s.Value == point && f.Type == TypeNumber:
			c.text(*s, "", "groupChar %q is the decimal mark too", s.Value)
		default:
			f.GroupChar = s.Value
		}
	}
	if b := raw.BareNumber; b != nil {
		if !amount {
			c.add(b.node.Errorf("bareNumber of %s, expected a number", article(f.Type)))
		}
		f.Loose = !b.Value
	}
}

// spellings notes the codes that a number or date could be written as in
// another way.
func (c *checker) spellings(f *Field) {
	f.spellings = map[float64]string{}
	for _, m := range f.codes {
		if v, ok := f.read(m.Value); ok && (v.Kind == value.Number || v.Kind == value.Date) {
			f.spellings[v.Number] = m.Value
		}
	}
}

// codesAreNoValues refuses a missing code that is also a legal value. A number
// is one only if the field is limited on both sides, for without limits every
// number would be.
func (c *checker) codesAreNoValues(f *Field, raw *rawField) {
	p := raw.Name.Position
	limits := &f.Constraints
	bounded := (limits.Minimum != nil || limits.ExclusiveMinimum != nil) && (limits.Maximum != nil || limits.ExclusiveMaximum != nil)
	for _, m := range f.codes {
		if m.Value == "" {
			continue
		}
		if len(f.words) > 0 {
			for _, w := range f.words {
				if f.same(w, m.Value) {
					c.at(p, "", "missing code %q is also the category %q of %s", m.Value, w, f.Name)
				}
			}
			continue
		}
		if slices.ContainsFunc(f.Items, func(k Category) bool { return k.Value == Bare(m.Value) }) {
			c.at(p, "", "missing code %q is also an item of %s", m.Value, f.Name)
		}
		if f.Type == TypeString {
			for _, e := range limits.Enum {
				if f.same(e.Text, m.Value) {
					c.at(p, "", "missing code %q is also the legal value %q of %s", m.Value, e.Text, f.Name)
				}
			}
			continue
		}
		v, ok := f.read(m.Value)
		if !ok || limits.broken(f, v) != "" {
			continue
		}
		switch {
		case f.Type == TypeBoolean:
			c.at(p, "", "missing code %q also says %v for %s", m.Value, v.Bool, f.Name)
		case limits.Enum != nil, bounded:
			c.at(p, "", "missing code %q is also a legal value of %s (%s)", m.Value, f.Name, f.Expected())
		}
	}
}

// same reports whether a word and a missing code cannot be told apart in a
// cell: blanks around them aside, and as numbers where the words are numbers.
func (f *Field) same(word, code string) bool {
	if Bare(word) == Bare(code) {
		return true
	}
	if f.Type != TypeInteger {
		return false
	}
	v, ok := f.integer(Bare(code))
	return ok && f.show(v) == word
}
