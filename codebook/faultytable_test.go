package codebook

import "testing"

// faultyCodes are fields whose missing codes Decode must refuse.
var faultyCodes = []book{
	{"reserved", `
- name: a
  type: number
  missingValues:
    - "¦fault" # want: missing code "fault" is reserved for what the program finds
    - "¦undefined" # want: missing code "undefined" is reserved
    - {value: "¦no linked row", label: none} # want: missing code "no linked row" is reserved
    - "¦outside bands" # want: missing code "outside bands" is reserved
    - "¦not missing" # want: missing code "not missing" is reserved
    - "¦wrong kind" # want: missing code "wrong kind" is reserved
    - "Fault"`},
	{"number", `- {name: a, type: number, missingValues: [¦-9]} # want: found the number -9, expected a text: quote it`},
	{"unquoted word", `- {name: a, type: number, missingValues: [NA, ¦N]} # want: quote it`},
	{"nothing", `- {name: a, type: number, missingValues: [¦null]} # want: expected a text: quote it`},
	{"not a list", `- {name: a, type: number, missingValues: ¦NM} # want: found the text "NM", expected a list`},
	{"twice", `- {name: a, type: number, missingValues: ["NM", "¦ NM"]} # want: missing code "NM" stands twice, first at line 7`},
	{"without value", `- {name: a, type: number, missingValues: [¦{label: none}]} # want: key "value" is missing`},
	{"control character", `- {name: a, type: number, missingValues: ["¦N\tM"]} # want: missing code "N\tM" holds a control character`},
	{"category", `- {name: ¦a, type: string, categories: [left, NM], missingValues: ["NM"]} # want: missing code "NM" is also the category "NM" of a`},
	{"category with blanks", `- {name: ¦a, type: string, categories: [left, NM], missingValues: [" NM"]} # want: missing code " NM" is also the category "NM" of a`},
	{"integer category", `- {name: ¦a, type: integer, categories: [1, 9], missingValues: ["9"]} # want: missing code "9" is also the category "9" of a`},
	{"integer category written otherwise", `- {name: ¦a, type: integer, categories: [1, 9], missingValues: ["09"]} # want: missing code "09" is also the category "9" of a`},
	{"enum", `- {name: ¦a, type: number, constraints: {enum: [1, 9.5]}, missingValues: ["9.50"]} # want: missing code "9.50" is also a legal value of a (one of 1, 9.5)`},
	{"enum of texts", `- {name: ¦a, type: string, constraints: {enum: [x, y]}, missingValues: ["y "]} # want: missing code "y " is also the legal value "y" of a`},
	{"within the limits", `- {name: ¦fpi, type: integer, constraints: {minimum: -12, maximum: 12}, missingValues: ["-9"]} # want: missing code "-9" is also a legal value of fpi (an integer of at least -12 and at most 12)`},
	{"within exclusive limits", `- {name: ¦a, type: number, constraints: {exclusiveMinimum: 0, exclusiveMaximum: 100}, missingValues: ["99"]} # want: missing code "99" is also a legal value`},
	{"date within the limits", `- {name: ¦a, type: date, constraints: {minimum: "1900-01-01", maximum: "2030-01-01"}, missingValues: ["1999-09-09"]} # want: missing code "1999-09-09" is also a legal value of a (a date such as 2024-03-31, not before 1900-01-01 and not after 2030-01-01)`},
	{"boolean", `- {name: ¦limp, type: boolean, missingValues: ["0"]} # want: missing code "0" also says false for limp`},
}

// faultySchemas are schemas that Decode must refuse.
var faultySchemas = []book{
	{"no field", `
¦fields: [] # want: fields is empty, expected at least one variable`},
	{"unknown key", `
fields: [{name: a, type: string}]
¦primarykey: a # want: unknown key "primarykey" … did you mean "primaryKey"?`},
	{"inherited code", `
missingValues: ["9"]
fields: [{name: ¦a, type: integer, categories: [1, 9]}] # want: missing code "9" is also the category "9" of a`},
	{"inherited code is reserved", `
missingValues: ["¦fault"] # want: missing code "fault" is reserved
fields: [{name: a, type: integer}]`},
	{"fields match", `
fieldsMatch: ¦subset # want: fieldsMatch "subset" is not supported, expected equal: columns are found by their names; did you mean "equal"?
fields: [{name: a, type: integer}]`},
	{"primary key", `
primaryKey: [child, ¦sied] # want: primaryKey names the variable "sied", which table participants does not have; did you mean "side"?
fields: [{name: child, type: string}, {name: side, type: string}]`},
	{"primary key twice", `
primaryKey: [child, ¦child] # want: variable "child" stands twice
fields: [{name: child, type: string}]`},
	{"unique key", `
uniqueKeys: [[child, side], [¦chld]] # want: uniqueKeys names the variable "chld" … did you mean "child"?
fields: [{name: child, type: string}, {name: side, type: string}]`},
	{"foreign key", `
foreignKeys:
  - {fields: ¦chid, reference: {fields: child}} # want: foreignKeys names the variable "chid" … did you mean "child"?
fields: [{name: child, type: string}]`},
	{"foreign key's reference", `
foreignKeys:
  - {fields: twin, reference: {fields: [¦chil]}} # want: reference names the variable "chil", which table participants does not have; did you mean "child"?
fields: [{name: child, type: string}, {name: twin, type: string}]`},
	{"foreign key to an unknown table", `
foreignKeys:
  - {fields: child, reference: {resource: ¦participant, fields: child}} # want: unknown table "participant", expected one of participants; did you mean "participants"?
fields: [{name: child, type: string}]`},
	{"foreign key of another length", `
foreignKeys:
  - {fields: [child, twin], reference: ¦{fields: [child]}} # want: 2 fields refer to 1 fields of participants
fields: [{name: child, type: string}, {name: twin, type: string}]`},
	{"foreign key without fields", `
foreignKeys:
  - ¦{fields: [], reference: {fields: [child]}} # want: fields is empty, expected at least one variable
fields: [{name: child, type: string}]`},
	{"foreign key to itself", `
foreignKeys:
  - {fields: [child], reference: ¦{resource: participants, fields: [child]}} # want: the key refers to itself
fields: [{name: child, type: string}]`},
	{"foreign key of another kind", `
foreignKeys:
  - {fields: [¦mother], reference: {fields: [child]}} # want: mother is a number and participants.child a text, so they are never equal
fields: [{name: child, type: string}, {name: mother, type: integer}]`},
	{"foreign key without reference", `
foreignKeys:
  - ¦{fields: [child]} # want: key "reference" is missing
fields: [{name: child, type: string}]`},
}

// faultyTables are tables that Decode must refuse; SCHEMA stands for a schema
// without faults.
var faultyTables = []book{
	{"absolute path", `path: ¦/data/registry.csv # want: path "/data/registry.csv" is absolute, expected one relative to the codebook's folder`},
	{"path of another system", `path: ¦C:/registry.csv # want: path "C:/registry.csv" is absolute`},
	{"path leaves the folder", `path: ¦data/../../registry.csv # want: path "data/../../registry.csv" leaves the codebook's folder`},
	{"address", `path: ¦https://example.org/registry.csv # want: path "https://example.org/registry.csv" is an address, expected a file in the codebook's folder`},
	{"backslash", `path: ¦data\registry.csv # want: path "data\\registry.csv" has a backslash, expected /; did you mean "data/registry.csv"?`},
	{"empty path", `path: "¦" # want: an empty path, expected a file`},
	{"folder", `path: ¦data/ # want: path "data/" is a folder, expected a file`},
	{"this folder", `path: ¦./. # want: is a folder`},
	{"control character", `path: "¦a\0.csv" # want: holds a control character`},
	{"anonymity of nobody", `
path: a.csv
heelcohort: {k_anonymity: ¦0} # want: found 0, expected a number of people of at least 1`},
	{"anonymity by bands", `
path: a.csv
heelcohort: {k_anonymity: {at_least: 3, bands: {¦age: [6, 8]}}} # want: bands of "age", which is no variable of table`},
	{"several files", `path: [a.csv, ¦b.csv] # want: 2 paths, expected one file`},
	{"another format", `
path: registry.csv
format: ¦xlsx # want: format "xlsx" does not agree with the path "registry.csv"; did you mean "csv"?`},
	{"another encoding", `
path: registry.csv
encoding: ¦windows-125 # want: encoding "windows-125" is not supported, expected one of utf-8, utf-16, … did you mean "windows-1252"?`},
	{"encoding of a workbook", `
path: registry.xlsx
encoding: ¦windows-1252 # want: encoding is of text files, and registry.xlsx is none`},
	{"another type", `
path: registry.csv
type: ¦json # want: found "json", expected one of table`},
	{"size", `
path: registry.csv
bytes: ¦-1 # want: found -1, expected an integer at least 0`},
	{"rows inside", `
path: registry.csv
data: ¦[[1]] # want: data is not supported: put the rows into a file and name it under path`},
	{"header row", `
path: registry.xlsx
heelcohort: {header_row: ¦0} # want: found 0, expected an integer at least 1`},
	{"unknown key of the property", `
path: registry.xlsx
heelcohort: {¦headerrow: 2} # want: unknown key "headerrow", expected one of sheet, header_row, rules … did you mean "header_row"?`},
	{"dialect", `
path: registry.csv
dialect:
  delimiter: ¦":" # want: delimiter ":" is not supported, expected "," or ";" or "\t" or "|"
  quoteChar: ¦"*" # want: quoteChar "*" is not supported, expected "\"" or "'"
  lineTerminator: ¦"\f" # want: lineTerminator "\f" is not supported, expected "\n" or "\r\n" or "\r"
  header: ¦false # want: header other than true is not supported
  doubleQuote: ¦"true" # want: found the text "true", expected true or false
  skipInitialSpace: ¦true # want: skipInitialSpace other than false is not supported
  caseSensitiveHeader: ¦false # want: caseSensitiveHeader other than true is not supported
  commentChar: ¦"#" # want: commentChar is not supported
  escapeChar: ¦"\\" # want: escapeChar is not supported
  nullSequence: ¦"\\N" # want: nullSequence is not supported: declare missingValues
  sheetNumber: ¦2 # want: sheetNumber is not supported: name the sheet with sheetName
  headerRows: ¦[1, 3] # want: found [1 3] as headerRows, expected rows of at least 1, each right below the one before
  headerJoin: ¦"-" # want: headerJoin without several headerRows
  commentRows: ¦[1] # want: commentRows is not supported
  table: ¦x # want: table is not supported`},
	{"header rows are a word", `
path: registry.xlsx
dialect: {headerRows: ¦first} # want: found the text "first", expected a list`},
	{"no header row", `
path: registry.xlsx
dialect: {headerRows: ¦[]} # want: headerRows is empty`},
	{"header rows from 0", `
path: registry.xlsx
dialect: {headerRows: ¦[0, 1]} # want: found [0 1] as headerRows`},
	{"header rows upwards", `
path: registry.xlsx
dialect: {headerRows: ¦[3, 2]} # want: found [3 2] as headerRows`},
	{"many header rows", `
path: registry.xlsx
dialect: {headerRows: ¦[1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21]} # want: 21 headerRows, expected at most 20`},
	{"header rows beside the header row", `
path: registry.xlsx
heelcohort: {header_row: 3}
dialect: {headerRows: ¦[2, 3]} # want: headerRows [2 3] does not agree with heelcohort.header_row 3`},
	{"join of one row", `
path: registry.xlsx
dialect: {headerRows: [2], headerJoin: ¦" - "} # want: headerJoin without several headerRows, whose parts it joins`},
	{"join is a line end", `
path: registry.xlsx
dialect: {headerRows: [2, 3], headerJoin: ¦"\n"} # want: headerJoin "\n" holds a control character`},
	{"join is a number", `
path: registry.xlsx
dialect: {headerRows: [2, 3], headerJoin: ¦1} # want: found the number 1, expected a text`},
	{"dialect of a workbook", `
path: registry.xlsx
dialect:
  delimiter: ¦";" # want: delimiter ";" is not supported, expected ","
  quoteChar: ¦"'" # want: quoteChar "'" is not supported
  lineTerminator: ¦"\r" # want: lineTerminator "\r" is not supported
  doubleQuote: ¦false # want: doubleQuote is of text files, and registry.xlsx is none`},
	{"dialect of numbers", `
path: registry.csv
dialect: {delimiter: ¦1} # want: found the number 1, expected a text`},
	{"dialect elsewhere", `
path: registry.csv
dialect: ¦dialect.json # want: found the text "dialect.json", expected a map`},
	{"unknown key of a dialect", `
path: registry.csv
dialect: {¦delimeter: ","} # want: unknown key "delimeter" … did you mean "delimiter"?`},
	{"two sheets", `
path: registry.xlsx
heelcohort: {sheet: participants}
dialect: {sheetName: ¦children} # want: sheetName "children" does not agree with heelcohort.sheet "participants"`},
	{"two header rows", `
path: registry.xlsx
heelcohort: {header_row: 2}
dialect: {headerRows: ¦[1]} # want: headerRows [1] does not agree with heelcohort.header_row 2`},
}

func TestFaultyCodes(t *testing.T) {
	for _, b := range faultyCodes {
		b.text = withFields(b.text)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

func TestFaultySchemas(t *testing.T) {
	for _, b := range faultySchemas {
		b.text = withSchema(b.text)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

func TestFaultyTables(t *testing.T) {
	for _, b := range faultyTables {
		b.text = withTable(b.text + "\nschema: {fields: [{name: age, type: number}]}")
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}
