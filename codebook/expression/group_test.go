package expression

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"heelcohort/codebook/value"
)

// teamScope is a table of weeks of sport.
var teamScope = study{
	{"", "child", 0, value.Text, nil},
	{"", "hours", 1, value.Number, nil},
	{"", "day", 2, value.Date, nil},
	{"", "limp", 3, value.Bool, nil},
}

func week(child string, hours, day float64, limp bool) values {
	return values{value.Str(child), value.Num(hours), value.Day(day), value.Truth(limp)}
}

// Three weeks of which all is known, and one of which nothing but the child is.
var (
	team  = []values{week("SM-0001", 0.1, 100, false), week("SM-0001", 0.2, 90, true), week("SM-0001", 0.2, 95, true)}
	blank = values{value.Str("SM-0001"), value.None(value.Number, "NM"), value.None(value.Date, ""), value.None(value.Bool, "RF")}
)

func evalGroup(t *testing.T, source string, rows []values) value.Value {
	t.Helper()
	p, err := CompileGroup(source, teamScope, []string{"child"})
	if err != nil {
		t.Fatalf("%s: %v", source, err)
	}
	v, _ := p.Eval(len(rows), func(k int) Row { return rows[k] })
	if v.Kind != p.Kind() {
		t.Errorf("%s: a %v from a program that gives a %v", source, v.Kind, p.Kind())
	}
	return v
}

func TestAggregates(t *testing.T) {
	withGap := append(slices.Clone(team), blank)
	for _, test := range []struct {
		source      string
		whole, gaps value.Value // of team, and of team with the blank week
	}{
		{"sum(hours)", num(0.5), none(value.Number, "NM")},
		{"sum(hours) == 0.5", yes(), none(value.Bool, "NM")},
		{"sum(hours * 3)", num(1.5), none(value.Number, "NM")},
		{"sum(coalesce(hours, 0))", num(0.5), num(0.5)},
		{"mean(hours * 3)", num(0.5), none(value.Number, "NM")},
		{"max(day)", value.Day(100), none(value.Date, "")},
		{"max(day) - min(day)", num(10), none(value.Number, "")},
		{"min(hours)", num(0.1), none(value.Number, "NM")},
		{"count()", num(3), num(4)},
		{"count(limp)", num(2), none(value.Number, "RF")},
		{"count(is_missing(hours))", num(0), num(1)},
		{"distinct(hours)", num(2), none(value.Number, "NM")},
		{"distinct(child)", num(1), num(1)},
		{"any(limp)", yes(), yes()},
		{"any(hours > 1)", no(), none(value.Bool, "NM")},
		{"all(limp)", no(), no()},
		{"all(hours > 0)", yes(), none(value.Bool, "NM")},
		{"child == 'SM-0001' and count() > 2", yes(), yes()},
		{"max(sum(hours), 2)", num(2), none(value.Number, "NM")}, // max of two is the function of a row
		{"sum(max(hours, 1))", num(3), none(value.Number, "NM")},
		{"1 / (count() - 3)", none(value.Number, value.CodeUndefined), num(1)},
	} {
		if got := evalGroup(t, test.source, team); got != test.whole {
			t.Errorf("%s: got %+v, want %+v", test.source, got, test.whole)
		}
		if got := evalGroup(t, test.source, withGap); got != test.gaps {
			t.Errorf("%s with a blank week: got %+v, want %+v", test.source, got, test.gaps)
		}
	}
}

func TestGroupShowsItsAggregates(t *testing.T) {
	p, err := CompileGroup("sum( hours+1 ) <= 25 and count() < 9", teamScope, []string{"child"})
	if err != nil {
		t.Fatal(err)
	}
	_, shown := p.Eval(len(team), func(k int) Row { return team[k] })
	if got := strings.Join(p.Aggregates(), "; "); got != "sum(hours + 1); count()" || shown[0] != num(3.5) || shown[1] != num(3) {
		t.Errorf("aggregates %s with the values %v", got, shown)
	}
	if v := p.Variables(); len(v) != 1 || v[0].Name != "hours" {
		t.Errorf("variables %v", v)
	}
}

func TestGroupRefusals(t *testing.T) {
	for _, r := range []refusal{
		{"¦hours > 1", "found hours, which differs between the rows of a group, expected an aggregate such as sum(hours)", ""},
		{"any(limp) and ¦limp", "expected an aggregate such as any(limp)", ""},
		{"sum(¦count()) > 1", "found count inside of another aggregate", ""},
		{"sum(¦limp) > 1", "found limp (boolean) in sum(x), expected a number", ""},
		{"¦all() and any(limp)", "found all with 0 arguments, expected all(condition)", ""},
		{"¦distinct(hours, limp) > 1", "found distinct with 2 arguments", ""},
		{"count(¦huors > 1) > 1", "found huors, expected a variable", "hours"},
		{"¦summ(hours) > 1", "found summ, expected a function", "sum"},
	} {
		before, after, _ := strings.Cut(r.marked, "¦")
		_, err := CompileGroup(before+after, teamScope, []string{"child"})
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%s: got %v, want an *Error", r.marked, err)
			continue
		}
		if e.Column != 1+len(before) || !strings.Contains(e.Message, r.message) || e.Nearest != r.nearest {
			t.Errorf("%s: got %v", r.marked, e)
		}
	}
	checkRefusals(t, []refusal{
		{"1 < ¦count(limp)", "found count, which is taken over the rows of a group, expected a function of one row", ""},
		{"¦sum(age) > 1", "found sum with 1 argument", ""},
	})
}

func TestEveryAggregateIsDocumented(t *testing.T) {
	for i, f := range Aggregates() {
		if !strings.HasPrefix(f.Signature, f.Name+"(") || len(f.Doc) < 20 || !strings.HasSuffix(f.Doc, ".") {
			t.Errorf("aggregate %q: got %q, %q", f.Name, f.Signature, f.Doc)
		}
		if i > 0 && Aggregates()[i-1].Name >= f.Name {
			t.Errorf("aggregate %q stands behind %q", f.Name, Aggregates()[i-1].Name)
		}
	}
}

// Whatever the source, compiling gives a program that evaluates to its kind or
// an error with a place inside the source.
func FuzzCompileGroup(f *testing.F) {
	for _, source := range []string{
		"", "sum(hours) <= 25", "all(limp) or any(hours > 3)", "max(day) - min(day) < 7", "count(", "sum(sum(hours))", "distinct(child) == 1",
		"count() > 1 ? mean(hours) : min(hours, 2)", "sum(hours, hours)", "count(limp and hours in [1, 2])", "child == 'x' and sum(day - day) == 0",
	} {
		f.Add(source)
	}
	f.Fuzz(func(t *testing.T, source string) {
		p, err := CompileGroup(source, teamScope, []string{"child"})
		if err != nil {
			checkPlace(t, source, err)
			return
		}
		for _, rows := range [][]values{team, {blank}, append(slices.Clone(team), blank)} {
			v, _ := p.Eval(len(rows), func(k int) Row { return rows[k] })
			if v.Kind != p.Kind() || v.Number-v.Number != 0 {
				t.Fatalf("%q: got %+v from a program that gives a %v", source, v, p.Kind())
			}
		}
	})
}

// A codedStudy is a study that knows missing codes.
type codedStudy struct{ study }

func (codedStudy) Codes(v Variable) []string {
	switch v.Name {
	case "height":
		return []string{"", "NM", "999"}
	case "age":
		return []string{}
	}
	return nil
}

func TestMissingCodesThatAreNone(t *testing.T) {
	for source, want := range map[string]string{
		"missing_code(height) == 'NM'":                "",
		"missing_code(height) == ''":                  "",
		"missing_code(height) in ['NM', '999']":       "",
		"missing_code(height) == 'fault'":             "",
		"missing_code(height) == 'undefined'":         "",
		"missing_code(weight) == 'anything'":          "", // open
		"missing_code(height + weight) == 'anything'": "", // of more than one variable
		"missing_code(height) == '99'":                `found "99", expected a missing code of height: "", "NM", "999"`,
		"missing_code(height) in ['NM', 'nm']":        `found "nm"`,
		"'MN' != missing_code(height)":                `found "MN"`,
		"missing_code(age) == 'NM'":                   `found "NM", expected a missing code of age: none is declared`,
		"missing_code(height) == 'not missing'":       `found "not missing"`,
	} {
		_, err := Compile(source, codedStudy{child})
		if want == "" && err != nil || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%s: got %v, want %q", source, err, want)
		}
	}
}
