package codebook

import (
	"strings"
	"testing"

	"heelcohort/codebook/value"
)

// faultyPlausibles are fields whose plausible range Decode must refuse.
var faultyPlausibles = []book{
	{"nothing", `- {name: height, type: number, heelcohort: {plausible: ¦{}}} # want: plausible is empty, expected minimum or maximum`},
	{"unknown key", `- {name: height, type: number, heelcohort: {plausible: {¦min: 3}}} # want: unknown key "min", expected one of minimum, maximum`},
	{"of a text", `- {name: note, type: string, heelcohort: {plausible: ¦{minimum: 3}}} # want: plausible of note, which is a string, does not apply`},
	{"of a boolean", `- {name: limp, type: boolean, heelcohort: {plausible: ¦{maximum: 1}}} # want: plausible of limp, which is a boolean, does not apply`},
	{"of categories", `- {name: grade, type: integer, categories: [1, 2], heelcohort: {plausible: ¦{maximum: 1}}} # want: plausible of grade, whose categories are its only values`},
	{"outside of the possible", `- {name: height, type: number, constraints: {minimum: 95, maximum: 200}, heelcohort: {plausible: {minimum: 110, maximum: ¦210}}} # want: plausible maximum 210 of height is no possible value: a number of at least 95 and at most 200`},
	{"below the possible", `- {name: height, type: number, constraints: {exclusiveMinimum: 95}, heelcohort: {plausible: {minimum: ¦95}}} # want: plausible minimum 95 of height is no possible value`},
	{"turned round", `- {name: height, type: number, heelcohort: {plausible: ¦{minimum: 9, maximum: 3}}} # want: plausible minimum 9 of height is above its plausible maximum 3`},
	{"a text", `- {name: height, type: number, heelcohort: {plausible: {minimum: ¦"9"}}} # want: found "9" as plausible minimum of height, expected a number without quotes`},
	{"a fraction", `- {name: days, type: integer, heelcohort: {plausible: {minimum: ¦9.5}}} # want: found 9.5 as plausible minimum of days, expected an integer`},
	{"a date in another format", `- {name: born, type: date, format: "%d.%m.%Y", heelcohort: {plausible: {minimum: ¦"2008-01-01"}}} # want: found "2008-01-01" as plausible minimum of born, expected a date in the field's format`},
}

func TestFaultyPlausibles(t *testing.T) {
	for _, b := range faultyPlausibles {
		b.text = withFields(b.text)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

func TestImplausible(t *testing.T) {
	height := mustField(t, `{name: height, type: number, constraints: {minimum: 95, maximum: 200}, missingValues: ["999"], heelcohort: {unit: cm, plausible: {minimum: 100, maximum: 190.5}}}`)
	born := mustField(t, `{name: born, type: date, format: "%d.%m.%Y", heelcohort: {plausible: {minimum: "01.01.2008"}}}`)
	for _, test := range []struct {
		field *Field
		cell  string
		want  string // rule: expected
	}{
		{height, "95", "plausible minimum: plausibly at least 100 and at most 190.5 cm"},
		{height, "99.9", "plausible minimum: "},
		{height, "100", ""},
		{height, "190.5", ""},
		{height, "190.6", "plausible maximum: "},
		{height, "999", ""},
		{born, "31.12.2007", "plausible minimum: plausibly not before 01.01.2008"},
		{born, "01.01.2008", ""},
		{born, "", ""},
	} {
		v, fault := test.field.Parse(test.cell)
		if fault != nil {
			t.Fatalf("%s: %+v", test.cell, fault)
		}
		got := ""
		if f := test.field.Implausible(v); f != nil {
			got = f.Rule + ": " + f.Expected
		}
		if test.want == "" && got != "" || !strings.HasPrefix(got, test.want) {
			t.Errorf("%s %s: got %q, want %q", test.field.Name, test.cell, got, test.want)
		}
	}
	if f := height.Implausible(value.None(value.Number, "999")); f != nil {
		t.Errorf("a missing value is %+v", f)
	}
}
