package codebook

import (
	"testing"
)

// withKinds makes a codebook whose table visits has rules; children are linked
// from it.
func withKinds(list string) string {
	return withTables(`
- name: children
  path: data/children.csv
  schema:
    primaryKey: child
    fields:
      - {name: child, type: string}
      - {name: born, type: date}
      - {name: last, type: integer}
      - {name: visits_n, type: integer}
- name: raters
  path: data/raters.csv
  schema:
    primaryKey: rater
    fields: [{name: rater, type: string}]
- name: visits
  path: data/visits.csv
  schema:
    primaryKey: visit
    fields:
      - {name: visit, type: string}
      - {name: child, type: string}
      - {name: rater, type: string}
      - {name: second, type: string}
      - {name: mode, type: string, categories: [in_person, phone]}
      - {name: seen, type: date}
      - {name: from, type: integer}
      - {name: to, type: integer, missingValues: ["NM", "ongoing"]}
      - {name: vas, type: number, missingValues: ["NM", "-9"]}
      - {name: limp, type: boolean}
    foreignKeys:
      - {fields: child, reference: {resource: children, fields: child}}
      - {fields: rater, reference: {resource: raters, fields: rater}}
      - {fields: second, reference: {resource: raters, fields: rater}}
  heelcohort:
    rules:
` + indent(list, 6))
}

// faultyKinds are rules of the structured kinds that Decode must refuse.
var faultyKinds = []book{
	{"two kinds", `- ¦{name: r, unique: [visit], order: [from, to]} # want: rule "r" has the keys unique and order, expected one of them: make two rules of it`},
	{"misspelt kind", `- {name: r, ¦no_overlaps: {from: from, to: to}} # want: unknown key "no_overlaps" … did you mean "no_overlap"?`},
	{"empty message", `- {name: "¦r", unique: [visit], message: " "} # want: rule "r" has an empty message`},
	{"where is no condition", `- {name: r, unique: [visit], where: "¦vas + 1"} # want: the condition gives a number, expected a boolean`},
	{"where names an unknown variable", `- {name: r, unique: [visit], where: "¦vsa > 1"} # want: vsa … did you mean "vas"?`},
	{"empty where", `- {name: r, unique: [visit], where: "¦"} # want: found nothing, expected an expression`},
	{"strict elsewhere", `- {name: r, unique: [visit], strict: ¦true} # want: strict in a rule of the kind unique, expected it with order alone`},
	{"fields", `- {name: r, unique: [visit], fields: [¦vist]} # want: fields names the variable "vist" … did you mean "visit"?`},

	{"unique of nothing", `- ¦{name: r, unique: []} # want: unique of rule "r" has 0 variables, expected at least 1`},
	{"unique unknown", `- {name: r, unique: [child, ¦moed]} # want: unique names the variable "moed", which table visits does not have; did you mean "mode"?`},
	{"unique twice", `- {name: r, unique: [child, ¦child]} # want: variable "child" stands twice`},

	{"overlap without end", `- {name: r, no_overlap: ¦{from: from}} # want: key "to" is missing`},
	{"overlap unknown", `- {name: r, no_overlap: {from: ¦form, to: to}} # want: no_overlap names the variable "form" … did you mean "from"?`},
	{"overlap within unknown", `- {name: r, no_overlap: {from: from, to: to, within: [¦chidl]}} # want: within names the variable "chidl" … did you mean "child"?`},
	{"overlap within nothing", `- ¦{name: r, no_overlap: {from: from, to: to, within: []}} # want: within of rule "r" has 0 variables`},
	{"overlap of texts", `- {name: r, no_overlap: {from: ¦child, to: to}} # want: child is a text, expected a number or a date`},
	{"overlap of number and date", `- {name: r, no_overlap: {from: from, to: ¦seen}} # want: from is a number and seen a date, so neither is before the other`},
	{"open end never empty", `- {name: r, no_overlap: {from: from, to: to, open_end: ¦true}} # want: open_end is true, but to is never empty: declare the missing code "" for it`},
	{"open end unknown code", `- {name: r, no_overlap: {from: from, to: to, open_end: ¦ongoin}} # want: open_end "ongoin" is no missing code of to; did you mean "ongoing"?`},
	{"open end number", `- {name: r, no_overlap: {from: from, to: vas, open_end: ¦-9}} # want: found -9 as open_end, expected true, false or a missing code in quotes`},

	{"order of one", `- ¦{name: r, order: [from]} # want: order of rule "r" has 1 variables, expected at least 2`},
	{"order unknown", `- {name: r, order: [from, ¦tto]} # want: tto … did you mean "to"?`},
	{"order unknown in a linked table", `- {name: r, order: [from, children.¦lats]} # want: lats … did you mean "children.last"?`},
	{"order of an unlinked table", `- {name: r, order: [from, ¦raters.rater]} # want: raters`},
	{"order of texts", `- {name: r, order: [from, ¦mode]} # want: mode is a text, expected a number or a date`},
	{"order of number and date", `- {name: r, order: [from, ¦seen]} # want: seen is a date and from a number, so neither is before the other`},
	{"order of an expression", `- {name: r, order: [from, "¦to + 1"]} # want: found an expression, expected the name of a variable`},
	{"order twice", `- {name: r, order: [from, ¦from]} # want: variable "from" stands twice`},
	{"order elsewhere", `- ¦{name: r, order: [children.last, children.visits_n]} # want: rule "r" names no variable of table visits`},

	{"within nothing", `- {name: r, within: ¦{day: from}} # want: within has no limit, expected from or to`},
	{"within unknown", `- {name: r, within: {day: ¦form, to: children.last}} # want: form … did you mean "from"?`},
	{"within unknown limit", `- {name: r, within: {day: from, to: ¦children.lats}} # want: lats … did you mean "children.last"?`},
	{"within limit of another kind", `- {name: r, within: {day: from, to: ¦children.born}} # want: children.born is a date and from a number`},
	{"within number for a date", `- {name: r, within: {day: seen, from: ¦0}} # want: found 0 as from, but seen is a date: expected a date or a variable`},
	{"within date for a number", `- {name: r, within: {day: from, from: ¦"2024-02-30"}} # want: found`},
	{"within turned round", `- {name: r, within: {day: from, from: 9, to: ¦3}} # want: from 9 is after to 3, so no day is within`},
	{"within text", `- {name: r, within: {day: ¦mode, from: 0}} # want: mode is a text, expected a number or a date`},

	{"total of nothing", `- {name: r, total: ¦{of: vas}} # want: the total vas is made in 0 ways, expected one of parts, count, sum, distinct`},
	{"total unknown", `- {name: r, total: {of: ¦vsa, parts: [from, to]}} # want: of names the variable "vsa", which table visits does not have; did you mean "vas"?`},
	{"total of a text", `- {name: r, total: {of: ¦mode, parts: [from, to]}} # want: mode is a text, expected a number`},
	{"part unknown", `- {name: r, total: {of: vas, parts: [from, ¦tto]}} # want: parts names the variable "tto" … did you mean "to"?`},
	{"part twice", `- {name: r, total: {of: vas, parts: [from, ¦from]}} # want: variable "from" stands twice`},
	{"part of itself", `- {name: r, total: {of: vas, parts: [from, ¦vas]}} # want: vas is its own part`},
	{"no parts", `- ¦{name: r, total: {of: vas, parts: []}} # want: parts of rule "r" has 0 variables, expected at least 1`},
	{"tolerance", `- {name: r, total: {of: vas, parts: [from, to], tolerance: ¦-1}} # want: found -1, expected a number at least 0`},
	{"missing", `- {name: r, total: {of: vas, parts: [from, to], missing: ¦skipp}} # want: found "skipp", expected one of total_missing, skip; did you mean "skip"?`},
	{"total over an unknown table", `- {name: r, total: {of: vas, count: {table: ¦vists}}} # want: unknown table "vists" … did you mean "visits"?`},
	{"total over a table that does not link", `- {name: r, total: {of: vas, count: {table: ¦children}}} # want: table "children" has no foreign key to one row of "visits"`},

	{"group by nothing", `- ¦{name: r, group: {by: [], check: "count() < 9"}} # want: by of rule "r" has 0 variables`},
	{"group by unknown", `- {name: r, group: {by: [¦chidl], check: "count() < 9"}} # want: by names the variable "chidl" … did you mean "child"?`},
	{"group of a number", `- {name: r, group: {by: [child], check: "¦sum(vas)"}} # want: the condition gives a number, expected a boolean`},
	{"group without aggregate", `- {name: r, group: {by: [child], check: "¦child != 'x'"}} # want: the condition has no aggregate such as sum(x)`},
	{"outside of an aggregate", `- {name: r, group: {by: [child], check: "sum(vas) < ¦to"}} # want: found to, which differs between the rows of a group, expected an aggregate such as sum(to)`},
	{"aggregate in an aggregate", `- {name: r, group: {by: [child], check: "sum(¦max(vas)) < 3"}} # want: found max inside of another aggregate`},
	{"sum of a text", `- {name: r, group: {by: [child], check: "sum(¦mode) < 3"}} # want: found mode (text) in sum(x), expected a number`},
	{"any of a number", `- {name: r, group: {by: [child], check: "any(¦vas)"}} # want: found vas (number) in any(condition), expected a boolean`},
	{"misspelt variable in an aggregate", `- {name: r, group: {by: [child], check: "sum(¦vsa) < 3"}} # want: vsa … did you mean "vas"?`},
	{"word that the variable cannot hold", `- {name: r, group: {by: [child], check: "count(mode == ¦'fhone') < 3"}} # want: fhone … did you mean "phone"?`},
	{"no arguments", `- {name: r, group: {by: [child], check: "¦sum() < 3"}} # want: found sum with 0 arguments, expected sum(x)`},
	{"aggregate of one row", `- {name: r, message: m, check: "¦any(limp)"} # want: found any, which is taken over the rows of a group`},

	{"missing code that is none", `- {name: r, message: m, check: "missing_code(vas) == ¦'MN'"} # want: found "MN", expected a missing code of vas: "NM", "-9"; did you mean "NM"?`},
	{"missing code of another variable", `- {name: r, message: m, check: "missing_code(to) in ['NM', ¦'-9']"} # want: found "-9", expected a missing code of to: "NM", "ongoing"`},
	{"missing code that is not empty", `- {name: r, message: m, check: "missing_code(vas) != ¦''"} # want: found "", expected a missing code of vas`},
}

func TestFaultyKinds(t *testing.T) {
	for _, b := range faultyKinds {
		b.text = withKinds(b.text)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

// faultyTotals are totals over the rows that link to a table, with faults.
var faultyTotals = []book{
	{"sum of a text", `- {name: r, total: {of: visits_n, sum: {table: visits, of: "¦mode"}}} # want: the sum is taken of a text, expected a number`},
	{"sum of an unknown variable", `- {name: r, total: {of: visits_n, sum: {table: visits, of: "¦vsa"}}} # want: vsa … did you mean "vas"?`},
	{"condition on another table", `- {name: r, total: {of: visits_n, count: {table: visits, when: "¦visits_n > 1"}}} # want: found visits_n, expected a variable of this table; visits_n is a variable of children … did you mean "children.visits_n"?`},
	{"condition", `- {name: r, total: {of: visits_n, count: {table: visits, when: "¦vas"}}} # want: the condition gives a number, expected a boolean`},
	{"two ways", `- {name: r, total: ¦{of: visits_n, parts: [visits_n2], count: {table: visits}}} # want: the total visits_n is made in 2 ways, expected one of parts, count, sum, distinct`},
	{"no table", `- {name: r, total: {of: visits_n, count: ¦{}}} # want: key "table" is missing`},
	{"nothing summed", `- {name: r, total: {of: visits_n, sum: ¦{table: visits}}} # want: key "of" is missing`},
}

func TestFaultyTotals(t *testing.T) {
	for _, b := range faultyTotals {
		b.text = withTables(`
- name: children
  path: data/children.csv
  schema:
    primaryKey: child
    fields: [{name: child, type: string}, {name: visits_n, type: integer}, {name: visits_n2, type: integer}]
  heelcohort:
    rules:
` + indent(b.text, 6) + `
- name: visits
  path: data/visits.csv
  schema:
    fields:
      - {name: child, type: string}
      - {name: mode, type: string, categories: [in_person, phone]}
      - {name: vas, type: number}
    foreignKeys: [{fields: child, reference: {resource: children, fields: child}}]
`)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

// Every kind has a name and a sentence.
func TestRuleKindsAreDocumented(t *testing.T) {
	seen := map[string]bool{}
	for _, k := range RuleKinds() {
		if k.Name == "" || seen[k.Name] || len(k.Doc) < 30 || k.Doc[len(k.Doc)-1] != '.' || k.given == nil || k.read == nil {
			t.Errorf("kind %q with the sentence %q", k.Name, k.Doc)
		}
		seen[k.Name] = true
	}
}
