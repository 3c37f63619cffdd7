package expression

import (
	"strings"
	"testing"

	"heelcohort/codebook/value"
)

func TestLiterals(t *testing.T) {
	checkResults(t, []result{
		{"'it\\'s'", value.Str("it's")},
		{`"a \"b\" \\ c"`, value.Str(`a "b" \ c`)},
		{`'// no comment; # | {}'`, value.Str("// no comment; # | {}")},
		{"'Größe ≥ 3'", value.Str("Größe ≥ 3")},
		{"007", num(7)},
		{"1.", num(1)},
		{"2.5E-1", num(0.25)},
		{"sum(1, 2,)", num(3)},
		{"(\n1 +\n\t2\r\n)", num(3)},
	})
}

func TestSyntaxRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"¦", "found nothing, expected an expression", ""},
		{"¦ \n ", "found nothing, expected an expression", ""},
		{"age >¦", "found the end, expected a value", ""},
		{"age >¦  \n", "found the end, expected a value", ""},
		{"age +\n  sex ==¦", "found the end, expected a value", ""},
		{"(age¦", "found the end, expected an operator or )", ""},
		{"sum(1, 2) + (3¦", "found the end, expected an operator or )", ""},
		{"sum(1, age in [2] ? 3 : 4) ¦5", "found 5, expected an operator or the end", ""},
		{"age in [1¦", "found the end, expected a comma or ]", ""},
		{"limp ? 1¦", "found the end, expected an operator or :", ""},
		{"age¦)", "found ), expected an operator or the end", ""},
		{"age ¦age", "found age, expected an operator or the end", ""},
		{"age > 3 ¦AND limp", "found AND, expected an operator", "and"},
		{"age > 3 ¦Or limp", "found Or, expected an operator", "or"},
		{"sum(1 ¦2)", "found 2, expected an operator or )", ""},
		{"age >= 6 and ¦< 17", "found <, expected a value", ""},
		{"¦and", "found and, expected a value", ""},
		{"participants.¦", "expected a variable after the point", ""},
		{"¦'abc", "found a text without its closing '", ""},
		{"'\\¦q'", "found a backslash that starts no known character", ""},
		{"¦b'abc'", "found b before a text", ""},
		{"¦`abc`", "found `, expected a text in quotes", ""},
		{"sex == ¦“male”", "expected straight quotes", ""},
		{"sex == ¦‘male’", "expected straight quotes", ""},
		{"age ¦// 2", "found //, expected no comment, or / to divide", ""},
		{"age ¦/* x */", "found /*, expected no comment", ""},
		{"age ¦# x", "found #, expected no comment", ""},
		{"1¦; 2", "found ;, expected one expression", ""},
		{"1¦;", "found ;, expected one expression", ""},
		{"¦let x = 1; x", "found the reserved word let", ""},
		{"¦{'a': 1}", "found {, expected no braces", ""},
		{"height ¦?? 1", "found ??, expected coalesce(a, b)", ""},
		{"participants¦?.site", "found ?., expected a space after ?", ""},
		{"age ¦& 1", "found &, expected and", ""},
		{"age ¦≥ 3", "found ≥, expected >=", ""},
		{"age ¦− 3", "found −, expected - to subtract", ""},
		{"age ¦µ", "found µ, expected an operator", ""},
		{"age ¦@ 1", "found @", ""},
		{"age¦[1]", "found [, expected no brackets after a value", ""},
		{"age¦[1:2]", "found [, expected no brackets after a value", ""},
		{"participants¦['site']", "found [, expected no brackets after a value", ""},
		{"¦0x10", "found 0x10, expected a decimal number", ""},
		{"1 + ¦1_000", "found 1_000, expected a decimal number", ""},
		{"¦0b1", "expected a decimal number", ""},
		{"¦6months", "found 6months, expected a decimal number", ""},
		{"¦1e", "found 1e, expected a decimal number", ""},
		{"¦1.2.3", "found 1.2.3, expected a decimal number", ""},
		{"1 + ¦1e400", "found 1e400, which is too large", ""},
		{"¦1e-400", "found 1e-400, which is too small", ""},
		{"¦9007199254740993", "expected an integer up to 9007199254740992", ""},
		{"¦99999999999999999999", "expected an integer up to 9007199254740992", ""},
	})
}

// Faults whose place cannot be marked in the source itself.
func TestSyntaxRefusalsPlaced(t *testing.T) {
	deep := strings.Repeat("-", 101) + "age"
	wide := strings.Repeat("age+", 1000) + "age"
	for _, test := range []struct {
		name, source string
		line, column int
		message      string
	}{
		{"bytes", "note == 'ä\xff'", 1, 11, "found bytes that are not UTF-8"},
		{"replacement character", "note == '\uFFFD\xff'", 1, 11, "found bytes that are not UTF-8"},
		{"line break in a text", "limp or\n\"ab\ncd\" == note", 2, 1, "found a text without its closing"},
		{"long", strings.Repeat(" ", 10_000) + "1", 1, 10_001, "found 10001 characters, expected at most 10000"},
		{"deep", deep, 1, 101, "found parts nested deeper than 100"},
		{"wide", wide, 0, 0, "found more than 1000 parts"},
		{"brackets", strings.Repeat("(", 9_999), 1, 10_000, "found the end, expected a value"},
		{"signs", strings.Repeat("-", 9_999), 1, 10_000, "found the end, expected a value"},
		{"negations", strings.Repeat("!", 9_998) + "t", 0, 0, "found more than 1000 parts"},
	} {
		_, err := Compile(test.source, child)
		e, ok := err.(*Error)
		if !ok {
			t.Errorf("%s: got %v, want an *Error", test.name, err)
			continue
		}
		if test.line > 0 && (e.Line != test.line || e.Column != test.column) {
			t.Errorf("%s: got place %d:%d, want %d:%d", test.name, e.Line, e.Column, test.line, test.column)
		}
		if !strings.Contains(e.Message, test.message) {
			t.Errorf("%s: got message %q, want %q in it", test.name, e.Message, test.message)
		}
	}
}

func TestLimitsAreReachable(t *testing.T) {
	for name, source := range map[string]string{
		"long": strings.Repeat(" ", 9_999) + "1",
		"deep": strings.Repeat("-", 99) + "age",
		"wide": "age in [" + strings.Join(numbersFrom(1, 990), ",") + "]",
		"and":  strings.Repeat("limp and ", 99) + "limp",
	} {
		if _, err := Compile(source, child); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// numbersFrom lists n integers as texts.
func numbersFrom(first, n int) []string {
	list := make([]string, n)
	for i := range list {
		list[i] = value.Num(float64(first + i)).String()
	}
	return list
}
