package expression

import (
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"heelcohort/codebook/value"
)

// Whatever the source, compiling gives a program that evaluates to its kind or
// an error with a place inside the source.
func FuzzCompile(f *testing.F) {
	for _, source := range []string{
		"", "age >= 6 and sex == 'female'", "6 <= age < 17", "not (limp or squeeze)", "age in [1, 2] ? 'a' : note",
		"participants.site not in ['S1']", "band(age, 6, 8, 10)", "foot_posture_class(age, 'three')", "round(age ** 2 / 3, 2)",
		"date('2024-05-01') - seen > 3", "coalesce(height, weight, -1)", "missing_code(born) == ''", "count_true(limp, swelling) % 2",
		"a.b.c", "f(", "((((", "1 +", "'\\u{41}'", "age ?: 1", "a?.b", "x | y", "[1][0]", "{a: 1}", "let a = 1; a", "all(age, # > 1)",
		"\xff", "1..2", "1e999", "0x1p3", "// x", "if limp { 1 } else { 2 }", "b'x'", "age not", "not in in in", "sum(1,,2)", "\n\n?", "::abs(1)",
	} {
		f.Add(source)
	}
	f.Fuzz(func(t *testing.T, source string) {
		p, err := Compile(source, child)
		if err != nil {
			checkPlace(t, source, err)
			return
		}
		empty := make(values, len(child))
		for i, v := range child {
			empty[i] = value.None(v.Kind, "NM")
		}
		for _, row := range []Row{childRow, empty} {
			v := p.Eval(row)
			if v.Kind != p.Kind() {
				t.Fatalf("%q: got a %v from a program that gives a %v", source, v.Kind, p.Kind())
			}
			if v.Number-v.Number != 0 {
				t.Fatalf("%q: got %v, which is not finite", source, v.Number)
			}
			if v.Kind == value.Text && !v.Missing && p.Words() != nil && !slices.Contains(p.Words(), v.Text) {
				t.Fatalf("%q: got %q, not among %q", source, v.Text, p.Words())
			}
			if again := p.Eval(row); again != v {
				t.Fatalf("%q: got %v, then %v", source, v, again)
			}
		}
	})
}

// checkPlace checks that an error points into the source.
func checkPlace(t *testing.T, source string, err error) {
	t.Helper()
	e, ok := err.(*Error)
	if !ok {
		t.Fatalf("%q: got an error of type %T", source, err)
	}
	lines := strings.Split(source, "\n")
	if e.Line < 1 || e.Line > len(lines) {
		t.Fatalf("%q: got line %d of %d", source, e.Line, len(lines))
	}
	if n := utf8.RuneCountInString(lines[e.Line-1]); e.Column < 1 || e.Column > n+1 {
		t.Fatalf("%q: got column %d of %d", source, e.Column, n)
	}
	if !strings.HasPrefix(e.Message, "found ") {
		t.Fatalf("%q: got message %q", source, e.Message)
	}
}
