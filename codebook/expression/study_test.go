package expression

import (
	"strings"
	"testing"

	"heelcohort/codebook/value"
)

// A study is a scope for tests; a variable's slot is its index.
type study []Variable

func (s study) Resolve(table, name string) (Variable, bool) {
	for _, v := range s {
		if v.Table == table && v.Name == name {
			return v, true
		}
	}
	return Variable{}, false
}

func (s study) Names(table string) []string {
	var names []string
	for _, v := range s {
		if v.Table == table {
			names = append(names, v.Name)
		}
	}
	return names
}

func (s study) Tables() []string {
	var tables []string
	for _, v := range s {
		if v.Table != "" && (len(tables) == 0 || tables[len(tables)-1] != v.Table) {
			tables = append(tables, v.Table)
		}
	}
	return tables
}

// A values row holds the value of each slot.
type values []value.Value

func (r values) Value(slot int) value.Value { return r[slot] }

// child is one row of episodes with the child it links to. In each kind there
// is a variable that is missing.
var (
	child = study{
		{"", "age", 0, value.Number, nil},
		{"", "height", 1, value.Number, nil},
		{"", "weight", 2, value.Number, nil},
		{"", "sex", 3, value.Text, []string{"female", "male"}},
		{"", "heel", 4, value.Text, []string{"left", "right"}},
		{"", "end_type", 5, value.Text, []string{"returned", "gave_up_sport", "lost"}},
		{"", "note", 6, value.Text, nil},
		{"", "limp", 7, value.Bool, nil},
		{"", "swelling", 8, value.Bool, nil},
		{"", "squeeze", 9, value.Bool, nil},
		{"", "seen", 10, value.Date, nil},
		{"", "born", 11, value.Date, nil},
		{"", "odd", 12, value.Unknown, nil},
		{"participants", "site", 13, value.Text, []string{"S1", "S2"}},
		{"participants", "sports_n", 14, value.Number, nil},
		{"visits", "mode", 15, value.Text, nil},
		{"", "grade", 16, value.Text, []string{"1", "2"}},
		{"", "many", 17, value.Text, strings.Split("abcdefghijkl", "")},
	}
	childRow = values{
		value.Num(9.5),
		value.None(value.Number, "NM"),
		value.None(value.Number, "999"),
		value.Str("female"),
		value.Str("left"),
		value.None(value.Text, "DK"),
		value.Str("x"),
		value.Truth(true),
		value.Truth(false),
		value.None(value.Bool, "RF"),
		value.Day(19844), // 2024-05-01
		value.None(value.Date, ""),
		{},
		value.Str("S2"),
		value.None(value.Number, value.CodeNoRow),
		value.Str("phone"),
		value.Str("2"),
		value.Str("a"),
	}
)

// A result is a source with what it gives on childRow.
type result struct {
	source string
	want   value.Value
}

func num(x float64) value.Value                  { return value.Num(x) }
func yes() value.Value                           { return value.Truth(true) }
func no() value.Value                            { return value.Truth(false) }
func none(k value.Kind, code string) value.Value { return value.None(k, code) }

// checkResults evaluates sources on childRow.
func checkResults(t *testing.T, results []result) {
	t.Helper()
	for _, r := range results {
		p, err := Compile(r.source, child)
		if err != nil {
			t.Errorf("%s: %v", r.source, err)
			continue
		}
		if got := p.Eval(childRow); got != r.want {
			t.Errorf("%s: got %+v, want %+v", r.source, got, r.want)
		}
		if p.Kind() != r.want.Kind {
			t.Errorf("%s: got kind %v, want %v", r.source, p.Kind(), r.want.Kind)
		}
	}
}

// A refusal is a source in which ¦ marks the place of the fault, with a part
// of the message and the nearest word.
type refusal struct{ marked, message, nearest string }

// checkRefusals compiles faulty sources.
func checkRefusals(t *testing.T, refusals []refusal) {
	t.Helper()
	for _, r := range refusals {
		before, after, ok := strings.Cut(r.marked, "¦")
		if !ok {
			t.Fatalf("%s: no mark", r.marked)
		}
		line := 1 + strings.Count(before, "\n")
		column := 1 + len([]rune(before[strings.LastIndex(before, "\n")+1:]))
		_, err := Compile(before+after, child)
		e, ok := err.(*Error)
		if !ok {
			t.Errorf("%s: got %v, want an *Error", r.marked, err)
			continue
		}
		if e.Line != line || e.Column != column {
			t.Errorf("%s: got place %d:%d, want %d:%d (%s)", r.marked, e.Line, e.Column, line, column, e.Message)
		}
		if !strings.Contains(e.Message, r.message) {
			t.Errorf("%s: got message %q, want %q in it", r.marked, e.Message, r.message)
		}
		if e.Nearest != r.nearest {
			t.Errorf("%s: got nearest %q, want %q", r.marked, e.Nearest, r.nearest)
		}
	}
}
