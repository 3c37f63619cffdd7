package codebook

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// faultyLists are lists that Decode must refuse.
var faultyLists = []book{
	{"item type", `- {name: t, type: list, itemType: ¦integer} # want: itemType "integer" is not supported, expected string; did you mean "string"?`},
	{"letter", `- {name: t, type: list, delimiter: "¦and"} # want: delimiter "and", expected a mark such as a semicolon`},
	{"blank", `- {name: t, type: list, delimiter: "¦ "} # want: delimiter " ", expected a mark`},
	{"items elsewhere", `- {name: ¦t, type: string, heelcohort: {items: [a]}} # want: items of a string, expected a list`},
	{"no items", `- {name: ¦t, type: list, heelcohort: {items: []}} # want: items of t is empty`},
	{"item twice", `- {name: t, type: list, heelcohort: {items: [a, ¦a]}} # want: item "a" stands twice`},
	{"label twice", `- {name: t, type: list, heelcohort: {items: [{value: a, label: A}, {value: ¦b, label: A}]}} # want: label "A" stands twice`},
	{"number", `- {name: t, type: list, heelcohort: {items: [¦1]}} # want: found 1 as item of t, expected a text: quote it`},
	{"delimiter in an item", `- {name: t, type: list, delimiter: ";", heelcohort: {items: [¦a;b]}} # want: item "a;b" holds the delimiter ";"`},
	{"blank in front", `- {name: t, type: list, heelcohort: {items: [¦" a"]}} # want: item " a" is empty, has blanks around it`},
	{"missing code", `- {name: ¦t, type: list, missingValues: [a], heelcohort: {items: [a, b]}} # want: missing code "a" is also an item of t`},
	{"categories", `- {name: ¦t, type: list, categories: [a]} # want: categories of a list, expected a string or an integer; the items of a list stand under heelcohort.items`},
	{"enum", `- {name: t, type: list, constraints: ¦{enum: [a]}} # want: enum of t, which is a list, does not apply`},
	{"pattern", `- {name: t, type: list, constraints: {pattern: ¦a}} # want: pattern of t, which is a list, does not apply`},
	{"length", `- {name: t, type: list, constraints: {minLength: ¦1}} # want: minLength of t, which is a list, does not apply`},
	{"minimum", `- {name: t, type: list, constraints: {minimum: ¦1}} # want: minimum of t, which is a list, does not apply`},
	{"plausible", `- {name: t, type: list, heelcohort: {plausible: ¦{minimum: 1}}} # want: plausible of t, which is a list, does not apply`},
}

func TestFaultyLists(t *testing.T) {
	for _, b := range faultyLists {
		b.text = withFields(b.text)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

const treatments = `{name: treatments, type: list, delimiter: ";", missingValues: ["", DK], heelcohort: {items: [{value: heel_raise, label: Heel raise}, stretching, orthosis]}}`

func TestParseList(t *testing.T) {
	f := mustField(t, treatments)
	open := mustField(t, `{name: codes, type: list, missingValues: [NM], constraints: {required: true}}`)
	for _, test := range []struct {
		field      *Field
		cell, want string // value, [code] or rule: nearest
	}{
		{f, "stretching", "stretching"},
		{f, "heel_raise;stretching", "heel_raise;stretching"},
		{f, "stretching;heel_raise", "stretching;heel_raise"},
		{f, " stretching ;\u00a0heel_raise", "stretching;heel_raise"},
		{f, "", "[]"},
		{f, " ", "[]"},
		{f, "DK", "[DK]"},
		{f, "stretching;DK", "category: "},
		{f, "stretching,heel_raise", "category: "},
		{f, "stretching;heel_rais", "category: heel_raise"},
		{f, "Heel raise", "category: heel_raise"},
		{f, "stretching;stretching", "category: "},
		{f, "stretching;", "type: "},
		{f, ";", "type: "},
		{open, "a,b", "a,b"},
		{open, "a;b", "a;b"},
		{open, "", "required: "},
		{open, "NM", "required: "},
	} {
		v, fault := test.field.Parse(test.cell)
		got := v.String()
		switch {
		case fault != nil:
			got = fault.Rule + ": " + fault.Nearest
		case v.Missing:
			got = "[" + v.Code + "]"
		}
		if got != test.want {
			t.Errorf("%q: got %q, want %q", test.cell, got, test.want)
		}
	}
	_, fault := f.Parse("stretching;x")
	if want := `a list with ";" between its items, each one of heel_raise, stretching, orthosis`; fault.Expected != want {
		t.Errorf("expected %q, want %q", fault.Expected, want)
	}
	if _, fault := f.Parse("stretching;stretching"); !strings.HasSuffix(fault.Expected, "; stretching stands twice") {
		t.Errorf("expected %q", fault.Expected)
	}
}

// TestListRoundTrip joins items that are legal, and wants them back.
func TestListRoundTrip(t *testing.T) {
	f := mustField(t, treatments)
	rapid.Check(t, func(t *rapid.T) {
		items := rapid.Permutation([]string{"heel_raise", "stretching", "orthosis"}).Draw(t, "items")
		items = items[:rapid.IntRange(1, 3).Draw(t, "n")]
		v, fault := f.Parse(strings.Join(items, rapid.SampledFrom([]string{";", " ;", "; "}).Draw(t, "mark")))
		if fault != nil {
			t.Fatalf("%+v", fault)
		}
		if got := f.Split(v.Text); strings.Join(got, " ") != strings.Join(items, " ") {
			t.Fatalf("got %q, want %q", got, items)
		}
	})
}

func TestListsInExpressions(t *testing.T) {
	p, err := Decode("codebook.yaml", []byte(withFields("- "+treatments+"\n- {name: note, type: string}\n- {name: open, type: list}")))
	if err != nil {
		t.Fatal(err)
	}
	scope := p.Scope(p.Resources[0])
	row := rowOf{value.Str("heel_raise;stretching"), value.Str("heel_raise"), value.Str("a,bc")}
	for source, want := range map[string]value.Value{
		"has(treatments, 'heel_raise')": value.Truth(true),
		"has(treatments, 'stretching')": value.Truth(true),
		"has(treatments, 'orthosis')":   value.Truth(false),
		"has(open, 'bc')":               value.Truth(true),
		"has(open, 'b')":                value.Truth(false),
		"count_true(has(treatments, 'orthosis'), has(open, 'a')) == 1":   value.Truth(true),
		"is_missing(treatments) or has(treatments, 'stretching')":        value.Truth(true),
		"missing_code(treatments) == 'DK' or has(treatments,'orthosis')": value.None(value.Bool, expression.CodeNotMissing),
	} {
		program, err := expression.Compile(source, scope)
		if err != nil {
			t.Errorf("%s: %v", source, err)
			continue
		}
		if got := program.Eval(row); got != want {
			t.Errorf("%s: got %+v, want %+v", source, got, want)
		}
	}
	program, err := expression.Compile("has(treatments, 'orthosis')", scope)
	if err != nil {
		t.Fatal(err)
	}
	if got := program.Eval(rowOf{value.None(value.Text, "DK")}); got != value.None(value.Bool, "DK") {
		t.Errorf("a missing list has %+v", got)
	}
	for source, want := range map[string]string{
		"has(treatments, 'orthosys')":            `1:17: found "orthosys", expected an item that treatments can have: "heel_raise", "stretching", "orthosis" (did you mean orthosis?)`,
		"has(note, 'a')":                         "1:5: found note (text) as argument 1",
		"has(treatments, note)":                  "1:17: found note (text) as argument 2",
		"treatments == 'orthosis'":               `1:1: found treatments, which is a list, in a comparison, expected has(treatments, "heel_raise")`,
		"'heel_raise' != treatments":             "1:17: found treatments, which is a list",
		"treatments in ['orthosis', 'orthoses']": "1:1: found treatments, which is a list",
	} {
		_, err := expression.Compile(source, scope)
		if err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s: got %v, want %s", source, err, want)
		}
	}
}

// A rowOf is a row of values by slot.
type rowOf []value.Value

func (r rowOf) Value(slot int) value.Value { return r[slot] }
