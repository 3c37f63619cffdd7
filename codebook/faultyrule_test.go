package codebook

import (
	"fmt"
	"strings"
	"testing"
)

// faultyRules are rules that Decode must refuse, in a table visits that is
// linked to participants.
var faultyRules = []book{
	{"number", `- {name: r, message: m, check: "¦vas + 1"} # want: the condition gives a number, expected a boolean`},
	{"text", `- {name: r, message: m, check: "¦mode"} # want: the condition gives a text, expected a boolean`},
	{"unknown variable", `- {name: r, message: m, check: "0 <= ¦vsa"} # want: vsa … did you mean "vas"?`},
	{"unknown variable of a linked table", `- {name: r, message: m, check: "participants.¦agee < 17"} # want: agee … did you mean "participants.age"?`},
	{"table that is not linked", `- {name: r, message: m, check: "¦raters.age > 17"} # want: raters`},
	{"text compared with number", `- {name: r, message: m, check: "mode ¦> 3"} # want: text`},
	{"word that the variable cannot hold", `- {name: r, message: m, check: "mode == ¦'fhone'"} # want: fhone … did you mean "phone"?`},
	{"cut short", `- {name: r, message: m, check: "vas >=¦"} # want: end`},
	{"constant", `- {name: r, message: m, check: "¦1 < 2"} # want: the condition names no variable, so it is the same on every row`},
	{"in a block", `
- name: r
  message: m
  check: >-
    vas >= 0 and
    ¦vaas <= 100 # want: vaas … did you mean "vas"?`},
	{"no check", `- ¦{name: r, message: m} # want: rule "r" says nothing to keep, expected one of the keys check, unique, no_overlap, order, within, total, group`},
	{"no message", `- ¦{name: r, check: "vas > 0"} # want: rule "r" has no message, expected what is wrong with such a row`},
	{"empty message", `- {name: "¦r", message: " ", check: "vas > 0"} # want: rule "r" has an empty message`},
	{"empty name", `- {name: "¦", message: m, check: "vas > 0"} # want: an empty name, expected the name of the rule`},
	{"name twice", `
- {name: r, message: m, check: "vas > 0"}
- {name: ¦r, message: m, check: "vas < 9"} # want: rule "r" stands twice`},
	{"severity", `- {name: r, message: m, check: "vas > 0", severity: ¦warnin} # want: found "warnin", expected one of error, warning; did you mean "warning"?`},
	{"unknown key", `- {name: r, message: m, check: "vas > 0", ¦feilds: [vas]} # want: unknown key "feilds" … did you mean "fields"?`},
	{"fields", `- {name: r, message: m, check: "vas > 0", fields: [¦vaas]} # want: fields names the variable "vaas", which table visits does not have; did you mean "vas"?`},
	{"field of a linked table", `- {name: r, message: m, check: "vas > 0", fields: [¦age]} # want: fields names the variable "age", which table visits does not have`},
}

// withRules makes a codebook whose table visits has rules.
func withRules(list string) string {
	return withTables(`
- name: participants
  path: data/participants.csv
  schema:
    primaryKey: child
    fields: [{name: child, type: string}, {name: age, type: number}]
- name: raters
  path: data/raters.csv
  schema:
    fields: [{name: rater, type: string}, {name: age, type: number}]
- name: visits
  path: data/visits.csv
  schema:
    fields:
      - {name: child, type: string}
      - {name: rater, type: string}
      - {name: mode, type: string, categories: [in_person, phone]}
      - {name: vas, type: number}
    foreignKeys:
      - {fields: child, reference: {resource: participants, fields: child}}
      - {fields: rater, reference: {resource: raters, fields: rater}}
  heelcohort:
    rules:
` + indent(list, 6))
}

func TestFaultyRules(t *testing.T) {
	for _, b := range faultyRules {
		b.text = withRules(b.text)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

// faultyPackages are whole codebooks that Decode must refuse.
var faultyPackages = []book{
	{"no table", `¦name: a # want: key "resources" is missing`},
	{"list", `¦- name: a # want: found a list, expected a map with the keys $schema`},
	{"no tables", `¦{name: a, resources: []} # want: resources is empty, expected at least one table`},
	{"unknown key", "resources: []\n¦titel: x # want: unknown key \"titel\" … did you mean \"title\"?"},
	{"version", "version: ¦1.10 # want: quote it\n" + withTable("path: a.csv\nschema: {fields: [{name: age, type: number}]}")},
	{"created", "created: ¦March # want: expected a date such as 2024-03-31\n" + withTable("path: a.csv\nschema: {fields: [{name: age, type: number}]}")},
	{"own property of the package", "¦heelcohort: {} # want: unknown key \"heelcohort\"\n" + withTable("path: a.csv\nschema: {fields: [{name: age, type: number}]}")},
	{"second document", withTable("path: a.csv\nschema: {fields: [{name: age, type: number}]}") + "¦--- # want: second document"},
	{"anchor", withTable("path: ¦&a a.csv # want: anchor\nschema: {fields: [{name: age, type: number}]}")},
	{"no name", withTables(`- ¦{path: a.csv, schema: {fields: [{name: age, type: number}]}} # want: key "name" is missing`)},
	{"no path", withTables(`- ¦{name: a, schema: {fields: [{name: age, type: number}]}} # want: key "path" is missing`)},
	{"no schema", withTables(`- ¦{name: a, path: a.csv} # want: key "schema" is missing`)},
	{"no fields", withTables(`- {name: a, path: a.csv, schema: ¦{}} # want: key "fields" is missing`)},
	{"empty name", withTables(`- {name: "¦", path: a.csv, schema: {fields: [{name: age, type: number}]}} # want: an empty name, expected the name of the table`)},
	{"point in a name", withTables(`- {name: ¦a.b, path: a.csv, schema: {fields: [{name: age, type: number}]}} # want: name "a.b" holds a point, which separates a table from its variable; did you mean "a_b"?`)},
	{"name twice", withTables(`
- {name: visits, path: a.csv, schema: {fields: [{name: age, type: number}]}}
- {name: ¦visits, path: b.csv, schema: {fields: [{name: age, type: number}]}} # want: table "visits" stands twice, first at line 3`)},
	{"file twice", withTables(`
- {name: a, path: a.csv, schema: {fields: [{name: age, type: number}]}}
- ¦{name: b, path: ./a.csv, schema: {fields: [{name: age, type: number}]}} # want: table "b" reads the same sheet of a.csv as table "a"`)},
	{"sheet twice", withTables(`
- {name: a, path: a.xlsx, heelcohort: {sheet: x}, schema: {fields: [{name: age, type: number}]}}
- ¦{name: b, path: a.xlsx, dialect: {sheetName: x}, schema: {fields: [{name: age, type: number}]}} # want: table "b" reads the same sheet of a.xlsx as table "a"`)},
	{"several faults in their order", withFields(`
- {name: a, type: ¦nmber} # want: did you mean "number"?
- {name: ¦a, type: string} # want: variable "a" stands twice
- {name: b, type: string, constraints: {pattern: "¦("}} # want: is no regular expression`)},
	{"unknown table among many", withTables(manyTables(13) + `
- name: last
  path: last.csv
  schema:
    fields: [{name: id, type: string}]
    foreignKeys: [{fields: id, reference: {resource: ¦t99x, fields: id}}] # want: unknown table "t99x", expected one of t0, t1, t2, t3, t4, t5, t6, t7, t8, t9, t10, t11, …`)},
	{"JSON", `{
  "resources": [{
    "name": "participants", "path": "a.csv",
    "schema": {"fields": [
      {"name": "age", "type": "number", ¦"titel": "Age"}, # want: unknown key "titel"
      ¦{"name": "sex"} # want: key "type" is missing
    ]}
  }]
}`},
}

func manyTables(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "- {name: t%d, path: t%d.csv, schema: {fields: [{name: id, type: string}]}}\n", i, i)
	}
	return strings.TrimSuffix(b.String(), "\n")
}

func TestFaultyPackages(t *testing.T) {
	for _, b := range faultyPackages {
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

// TestFaultySyntax wants a fault with a place from what is no document.
func TestFaultySyntax(t *testing.T) {
	for _, text := range []string{"", " ", "{", "a: [", "a: b: c", "\xff", "\xff\xfea", "|", "a:\tb\n\tc: d", "%YAML 1.1\n---\na: b"} {
		for _, file := range []string{"codebook.yaml", "codebook.json"} {
			if p, err := Decode(file, []byte(text)); err == nil || p != nil {
				t.Errorf("%s with %q is accepted", file, text)
			}
		}
	}
}
