package codebook

import (
	"strings"
	"unicode"

	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// reserved are the codes that the program gives itself.
var reserved = []string{
	value.CodeFault, value.CodeUndefined, value.CodeNoRow,
	expression.CodeOutsideBands, expression.CodeNotMissing, expression.CodeWrongKind,
}

// codes reads missing codes.
func (c *checker) codes(list []missingCode) []MissingValue {
	out := make([]MissingValue, 0, len(list))
	seen := map[string]document.Position{}
	for _, m := range list {
		s := m.Code
		c.unique(seen, document.String{Value: Bare(s.Value), Position: s.Position}, "missing code")
		for _, w := range reserved {
			if Bare(s.Value) == w {
				c.text(s, "", "missing code %q is reserved for what the program finds", w)
			}
		}
		if strings.ContainsFunc(s.Value, unicode.IsControl) {
			c.text(s, "", "missing code %q holds a control character", s.Value)
		}
		out = append(out, MissingValue{Value: s.Value, Label: m.Label})
	}
	return out
}

// categories reads the only values of a field.
func (c *checker) categories(f *Field, raw *rawField) {
	if f.Type != TypeString && f.Type != TypeInteger {
		hint := ""
		if f.Type == TypeList {
			hint = "; the items of a list stand under heelcohort.items"
		}
		c.at(raw.Name.Position, "", "categories of %s, expected a string or an integer%s", article(f.Type), hint)
		return
	}
	if len(*raw.Categories) == 0 {
		c.at(raw.Name.Position, "", "categories of %s is empty", f.Name)
	}
	if raw.CategoriesOrdered != nil {
		f.CategoriesOrdered = raw.CategoriesOrdered.Value
	}
	values, labels := map[string]document.Position{}, map[string]document.Position{}
	for _, k := range *raw.Categories {
		v, ok := c.scalar(f, k.Value, "category")
		if !ok {
			continue
		}
		word := f.show(v)
		place := document.String{Value: word, Position: k.Value.Position}
		if Bare(word) == "" {
			c.add(k.Value.Errorf("", "an empty category; an empty cell is a missing code"))
		}
		if strings.ContainsFunc(word, unicode.IsControl) {
			c.add(k.Value.Errorf("", "category %q holds a control character", word))
		}
		c.unique(values, place, "category")
		if k.Label != "" {
			place.Value = k.Label
			c.unique(labels, place, "label")
		}
		f.Categories = append(f.Categories, Category{Value: word, Label: k.Label})
		f.words = append(f.words, word)
	}
}

// scalar reads a value of the field's type from the codebook. Numbers and
// booleans stand without quotes, texts and dates are written as in a cell.
func (c *checker) scalar(f *Field, s document.Scalar, what string) (value.Value, bool) {
	wrong := func() (value.Value, bool) {
		hint := ""
		switch {
		case f.Type == TypeString && s.Kind != document.Text:
			hint = ": quote it"
		case f.Type != TypeString && !f.isDay() && s.Quoted:
			hint = " without quotes"
		}
		c.add(s.Errorf("", "found %s as %s of %s, expected %s%s", shown(s), what, f.Name, nouns[f.Type], hint))
		return value.Value{}, false
	}
	want := document.Text
	switch f.Type {
	case TypeInteger, TypeNumber:
		want = document.Number
	case TypeBoolean:
		want = document.Bool
	}
	if s.Kind != want {
		return wrong()
	}
	v, ok := f.plain(s.Text)
	if !ok {
		return wrong()
	}
	if clock := f.clock(s.Text); clock != "" {
		c.add(s.Errorf("", "found the time of day %s as %s of %s, whose values are days", clock, what, f.Name))
	}
	return v, true
}

// plain reads a value as the codebook writes it, whose notation is the
// standard's, whatever the cells' is. Texts stand as they are.
func (f *Field) plain(text string) (value.Value, bool) {
	if f.Type == TypeString {
		return value.Str(text), true
	}
	return (&Field{Type: f.Type, Format: f.Format, layout: f.layout}).read(text)
}

var nouns = map[string]string{
	TypeString: "a text", TypeInteger: "an integer", TypeNumber: "a number", TypeBoolean: "true or false", TypeDate: "a date in the field's format",
	TypeDatetime: "a date and time in the field's format",
}

// article puts a or an before a type.
func article(typ string) string {
	if typ == TypeInteger {
		return "an " + typ
	}
	return "a " + typ
}

func shown(s document.Scalar) string {
	if s.Quoted {
		return `"` + s.Text + `"`
	}
	return s.Text
}

// constraints reads the limits of a field and refuses those that its type
// cannot have or that no value meets.
func (c *checker) constraints(f *Field, raw *rawConstraints) {
	limits := &f.Constraints
	limits.Required, limits.Unique = raw.Required, raw.Unique
	c.unsupported(raw.JSONSchema, "jsonSchema", "")
	c.amounts(f, raw)
	c.lengths(f, raw)
	if s := raw.Pattern; s != nil && c.suits(f, s.Position, "pattern", f.Type == TypeString && len(f.words) == 0) {
		pattern, err := c.pattern(s.Value)
		if err != nil {
			c.text(*s, "", "%v", err)
		}
		limits.Pattern, f.pattern = s.Value, pattern
	}
	if raw.Enum == nil || !c.suits(f, raw.Position, "enum", len(f.words) == 0 && f.Type != TypeList) {
		return
	}
	seen := map[string]document.Position{}
	for _, s := range *raw.Enum {
		v, ok := c.scalar(f, s, "enum")
		if !ok {
			continue
		}
		c.unique(seen, document.String{Value: f.show(v), Position: s.Position}, "enum value")
		if rule := limits.broken(f, v); rule != "" {
			c.add(s.Errorf("", "enum value %s of %s breaks its %s", s.Text, f.Name, rule))
		}
		// Appended below, so that one value is not measured by the others.
	}
	for _, s := range *raw.Enum {
		if v, ok := f.plain(s.Text); ok {
			limits.Enum = append(limits.Enum, v)
		}
	}
	if len(*raw.Enum) == 0 {
		c.at(raw.Position, "", "enum of %s is empty", f.Name)
	}
}

// suits refuses a constraint that a field of this type cannot have.
func (c *checker) suits(f *Field, p document.Position, name string, ok bool) bool {
	switch {
	case ok:
		return true
	case len(f.words) > 0:
		c.at(p, "", "%s of %s, whose categories are its only values", name, f.Name)
	default:
		c.at(p, "", "%s of %s, which is %s, does not apply", name, f.Name, article(f.Type))
	}
	return false
}

func (c *checker) amounts(f *Field, raw *rawConstraints) {
	limits := &f.Constraints
	amount := (f.Type == TypeInteger || f.Type == TypeNumber || f.isDay()) && len(f.words) == 0
	for _, p := range []struct {
		name   string
		scalar *document.Scalar
		into   **value.Value
	}{
		{"minimum", raw.Minimum, &limits.Minimum},
		{"maximum", raw.Maximum, &limits.Maximum},
		{"exclusiveMinimum", raw.ExclusiveMinimum, &limits.ExclusiveMinimum},
		{"exclusiveMaximum", raw.ExclusiveMaximum, &limits.ExclusiveMaximum},
	} {
		if p.scalar == nil || !c.suits(f, p.scalar.Position, p.name, amount) {
			continue
		}
		if v, ok := c.scalar(f, *p.scalar, p.name); ok {
			*p.into = &v
		}
	}
	if limits.empty(f.Type != TypeNumber) {
		c.at(raw.Position, "", "no value of %s can meet %s", f.Name, limits.limits(f, "at least", "above", "at most", "below"))
	}
}

func (c *checker) lengths(f *Field, raw *rawConstraints) {
	limits := &f.Constraints
	isText := f.Type == TypeString && len(f.words) == 0
	if l := raw.MinLength; l != nil && c.suits(f, l.node.Position, "minLength", isText) {
		limits.MinLength = &l.Value
	}
	if l := raw.MaxLength; l != nil && c.suits(f, l.node.Position, "maxLength", isText) {
		limits.MaxLength = &l.Value
		if limits.MinLength != nil && *limits.MinLength > l.Value {
			c.add(l.node.Errorf("maxLength %d is below minLength %d", l.Value, *limits.MinLength))
		}
	}
}
