package expression

import (
	"fmt"
	"math"

	"heelcohort/codebook/value"
)

// CodeWrongKind marks a variable whose row gave a value of another kind than
// the scope had announced.
const CodeWrongKind = "wrong kind"

// A gap is the reason why a value is missing; the zero gap is none.
type gap struct {
	code    string
	missing bool
}

// undefined is the gap of an operation without a value.
var undefined = gap{value.CodeUndefined, true}

// The closures that compute a value. A date is computed as its number of days.
type (
	numberFunc func(Row) (float64, gap)
	textFunc   func(Row) (string, gap)
	truthFunc  func(Row) (bool, gap)
)

// A term is a compiled part of an expression.
type term struct {
	kind    value.Kind
	at      int          // where it starts in the source
	name    string       // of a variable, as written
	literal *value.Value // of a literal
	words   []string     // the texts it can take, nil when open
	codes   []string     // of a variable: its missing codes; nil when open
	list    *listing     // of a variable that is a list
	coded   *term        // of missing_code: the variable asked about, if its codes are known

	number numberFunc // for Number and Date
	text   textFunc   // for Text
	truth  truthFunc  // for Bool
}

// eval computes t on a row.
func (t term) eval(row Row) value.Value {
	switch t.kind {
	case value.Text:
		s, g := t.text(row)
		return value.Value{Kind: value.Text, Missing: g.missing, Code: g.code, Text: s}
	case value.Bool:
		b, g := t.truth(row)
		return value.Value{Kind: value.Bool, Missing: g.missing, Code: g.code, Bool: b}
	}
	x, g := t.number(row)
	return value.Value{Kind: t.kind, Missing: g.missing, Code: g.code, Number: x}
}

// gap says whether t is missing on a row, and why.
func (t term) gap(row Row) gap {
	var g gap
	switch t.kind {
	case value.Text:
		_, g = t.text(row)
	case value.Bool:
		_, g = t.truth(row)
	default:
		_, g = t.number(row)
	}
	return g
}

// String describes t in a message: "sex (text)", "6 (number)", "a number".
func (t term) String() string {
	switch {
	case t.name != "":
		return fmt.Sprintf("%s (%v)", t.name, t.kind)
	case t.literal != nil && t.kind == value.Text:
		return fmt.Sprintf("%q (text)", t.literal.Text)
	case t.literal != nil:
		return fmt.Sprintf("%v (%v)", *t.literal, t.kind)
	}
	return fmt.Sprintf("a %v", t.kind)
}

// finite is the result of an arithmetic operation: missing where it is not a
// finite number, and 0 rather than -0.
func finite(x float64) (float64, gap) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, undefined
	}
	if x == 0 {
		return 0, gap{}
	}
	return x, gap{}
}

// numberLiteral is a constant number.
func numberLiteral(x float64, at int) term {
	v := value.Num(x)
	return term{
		kind: value.Number, at: at, literal: &v,
		number: func(Row) (float64, gap) { return x, gap{} },
	}
}

// textLiteral is a constant text.
func textLiteral(s string, at int) term {
	v := value.Str(s)
	return term{
		kind: value.Text, at: at, literal: &v, words: []string{s},
		text: func(Row) (string, gap) { return s, gap{} },
	}
}

// truthLiteral is true or false.
func truthLiteral(b bool, at int) term {
	v := value.Truth(b)
	return term{
		kind: value.Bool, at: at, literal: &v,
		truth: func(Row) (bool, gap) { return b, gap{} },
	}
}

// read is a variable's value in the row.
func read(v Variable, name string, at int) term {
	t := term{kind: v.Kind, at: at, name: name}
	slot, kind := v.Slot, v.Kind
	switch kind {
	case value.Text:
		if len(v.Words) > 0 {
			t.words = v.Words
		}
		t.text = func(row Row) (string, gap) {
			v := row.Value(slot)
			if v.Missing || v.Kind != kind {
				return "", why(v)
			}
			return v.Text, gap{}
		}
	case value.Bool:
		t.truth = func(row Row) (bool, gap) {
			v := row.Value(slot)
			if v.Missing || v.Kind != kind {
				return false, why(v)
			}
			return v.Bool, gap{}
		}
	default:
		t.number = func(row Row) (float64, gap) {
			v := row.Value(slot)
			if v.Missing || v.Kind != kind {
				return 0, why(v)
			}
			return finite(v.Number)
		}
	}
	return t
}

// why is the gap of a value that is missing or of a kind not announced.
func why(v value.Value) gap {
	if v.Missing {
		return gap{v.Code, true}
	}
	return gap{CodeWrongKind, true}
}

// union joins the known texts of two terms, in order of appearance; it is nil
// when either is open.
func union(a, b []string) []string {
	if a == nil || b == nil {
		return nil
	}
	all := make([]string, 0, len(a)+len(b))
	have := make(map[string]bool, len(a)+len(b))
	for _, list := range [][]string{a, b} {
		for _, w := range list {
			if !have[w] {
				have[w] = true
				all = append(all, w)
			}
		}
	}
	return all
}
