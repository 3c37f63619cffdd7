package codebook

import (
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// Names of the rules that Parse applies.
const (
	RuleType     = "type"
	RuleCategory = "category"
	RuleRequired = "required"
	RuleMinimum  = "minimum"
	RuleMaximum  = "maximum"
	RuleLength   = "length"
	RulePattern  = "pattern"
	RuleEnum     = "enum"
)

// Parse turns a cell's text into a value, a missing value with its code, or a
// fault. Constraints on the single value are checked too, except unique.
//
// Missing codes come before values. Blanks around a text do not count (see
// [Bare]), except that a category, a value of an enum and a pattern may ask
// for them: those are tried with the text as written too. An empty cell is
// missing where the codebook declares the code "", as it does where it
// declares none; it is a fault otherwise, except of a text without categories
// that is not required, whose value it is.
//
// A text that is not legal is tried once more without an apostrophe at its
// beginning, the mark by which spreadsheets keep an entry a text. An open text
// is legal with it and keeps it.
func (f *Field) Parse(text string) (value.Value, *Fault) {
	v, fault := f.parse(text)
	rest, marked := strings.CutPrefix(Bare(text), "'")
	if !marked || Bare(rest) == "" {
		return v, fault
	}
	if fault == nil {
		if code, ok := f.code(rest); ok && f.open() {
			return value.Value{}, misspelled(code)
		}
		return v, nil
	}
	if f.open() {
		return v, fault
	}
	if w, again := f.parse(rest); again == nil {
		return w, nil
	}
	return v, fault
}

// open reports whether any text is a value, but for its length.
func (f *Field) open() bool {
	return f.Type == TypeString && len(f.words) == 0 && f.pattern == nil && f.Constraints.Enum == nil
}

// parse is Parse of a text that stands for itself.
func (f *Field) parse(text string) (value.Value, *Fault) {
	bare := Bare(text)
	if code, ok := f.code(bare); ok {
		if f.Constraints.Required {
			return value.Value{}, f.fault(RuleRequired, text)
		}
		return value.None(f.Kind(), code), nil
	}
	if bare == "" && (f.Constraints.Required || f.Type != TypeString) {
		return value.Value{}, f.fault(RuleRequired, text)
	}
	if len(f.words) > 0 {
		return f.category(text, bare)
	}
	if f.Type == TypeList {
		return f.readList(text)
	}
	v, ok := f.read(text)
	if !ok {
		return value.Value{}, f.fault(RuleType, text)
	}
	if code, ok := f.spelled(v); ok {
		return value.Value{}, misspelled(code)
	}
	rule := f.Constraints.broken(f, v)
	// A text with its blanks, where the codebook asks for them.
	if v.Kind == value.Text && !f.open() && (rule != "" || f.Constraints.Enum != nil) {
		if whole := value.Str(lines(text)); f.Constraints.broken(f, whole) == "" {
			return whole, nil
		}
	}
	if rule != "" {
		return value.Value{}, f.fault(rule, text)
	}
	return v, nil
}

// read turns a text into a value of the field's type, categories and
// constraints aside.
func (f *Field) read(text string) (value.Value, bool) {
	bare := Bare(text)
	switch f.Type {
	case TypeString:
		return value.Str(lines(bare)), true
	case TypeInteger:
		return f.integer(bare)
	case TypeNumber:
		return f.number(bare)
	case TypeBoolean:
		return f.boolean(bare)
	case TypeDate, TypeDatetime:
		return f.day(bare)
	}
	return value.Value{}, false
}

// category finds the word that a cell is, as written before the bare one.
// Coded integers are compared as numbers.
func (f *Field) category(text, bare string) (value.Value, *Fault) {
	tries := []string{text, bare}
	if f.Type == TypeInteger {
		v, ok := f.integer(bare)
		if !ok {
			return value.Value{}, f.fault(RuleType, text)
		}
		if code, ok := f.spelled(v); ok {
			return value.Value{}, misspelled(code)
		}
		tries = []string{f.show(v)}
	}
	for _, try := range tries {
		for _, w := range f.words {
			if w == try {
				return value.Str(w), nil
			}
		}
	}
	return value.Value{}, f.fault(RuleCategory, text)
}

// spelled finds the missing code that is the same number or day as v though it
// is written in another way: 999.0 for 999.
func (f *Field) spelled(v value.Value) (string, bool) {
	if v.Kind != value.Number && v.Kind != value.Date {
		return "", false
	}
	code, ok := f.spellings[v.Number]
	return code, ok
}

// misspelled is the fault of a missing code written in another way.
func misspelled(code string) *Fault {
	return &Fault{Rule: RuleType, Expected: "the missing code written as " + code, Nearest: code}
}

// fault is what Parse says of a text that breaks a rule.
func (f *Field) fault(rule, text string) *Fault {
	out := &Fault{Rule: rule, Expected: f.Expected()}
	switch rule {
	case RuleRequired:
		out.Expected += "; the cell must not be empty"
		if f.Constraints.Required {
			out.Expected = f.Expected() + "; the value must not be missing"
		}
	case RuleType, RuleCategory, RuleEnum:
		out.Nearest = f.nearest(Bare(text))
	}
	if rule == RuleType && out.Nearest == "" {
		out.Expected += f.hint(Bare(text))
	}
	return out
}

// nearest is the legal word or missing code nearest to a text. The label of a
// category stands for its value.
func (f *Field) nearest(text string) string {
	words := append([]string(nil), f.words...)
	if f.Type == TypeBoolean {
		trues, falses := f.truths()
		words = append(append(words, trues...), falses...)
	}
	for _, v := range f.Constraints.Enum {
		words = append(words, f.show(v))
	}
	for _, m := range f.codes {
		if m.Value != "" {
			words = append(words, m.Value)
		}
	}
	for _, c := range f.Categories {
		if c.Label != "" && strings.EqualFold(c.Label, text) {
			return c.Value
		}
	}
	return document.Nearest(text, words)
}

// truths are the words of a boolean.
func (f *Field) truths() (trues, falses []string) {
	trues, falses = f.TrueValues, f.FalseValues
	if trues == nil {
		trues = []string{"true", "True", "TRUE", "1"}
	}
	if falses == nil {
		falses = []string{"false", "False", "FALSE", "0"}
	}
	return trues, falses
}

func (f *Field) boolean(text string) (value.Value, bool) {
	trues, falses := f.truths()
	for _, w := range trues {
		if w == text {
			return value.Truth(true), true
		}
	}
	for _, w := range falses {
		if w == text {
			return value.Truth(false), true
		}
	}
	return value.Value{}, false
}
