// Package codebook reads a study's codebook: every table, variable, range,
// category and missing-value code of its data.
//
// A codebook is a Data Package (version 2) descriptor with Table Schema
// fields, in JSON or YAML:
//
//	name: saltmarsh-heel-registry
//	resources:
//	  - name: participants
//	    path: data/registry.xlsx
//	    heelcohort: {sheet: participants, header_row: 1}
//	    schema:
//	      primaryKey: participant_id
//	      fields:
//	        - {name: participant_id, type: string, constraints: {required: true, pattern: 'SM-[0-9]{4}'}}
//	        - name: height_cm
//	          type: number
//	          constraints: {minimum: 95, maximum: 200}
//	          missingValues: [{value: "NM", label: not measured}]
//	          heelcohort: {unit: cm}
//
// # Promise
//
// A codebook that [Decode] accepts means one thing. Whatever it says that
// would not be done, cannot be met, or could be read in two ways is refused
// with file, line, column and the nearest valid word; nothing is ignored but
// keys that begin with x- or _. [Field.Parse] then gives, for every text of a
// cell, the value that the codebook says, a missing value with its code, or a
// [Fault]; it never guesses and never panics.
//
// # What the standard has no word for
//
// It rides in the property heelcohort, which other readers of the standard
// ignore. All its keys may be left out. In a field:
//
//	heelcohort:
//	  unit: cm                # unit of measurement, for tables and messages
//	  role: quasi_identifier  # what the variable says of the person:
//	                          # identifier, quasi_identifier or free_text
//
// In a resource:
//
//	heelcohort:
//	  sheet: participants     # sheet of the workbook; the only one if left out
//	  header_row: 3           # row of the column names, from 1; 1 if left out
//	  rules:                  # conditions that every row must meet
//	    - name: sitting height ratio
//	      check: "between(sitting_height_cm / height_cm, 0.46, 0.60)"
//	      message: Sitting height is not 0.46 to 0.60 of the height.
//	      severity: warning   # error if left out
//	      fields: [height_cm] # where the finding is placed; the variables of
//	                          # the check if left out
//
// A check is a boolean expression of package expression. It sees the row's own
// variables, and as table.variable those of a table that exactly one foreign
// key names, by a key of at most one row (see [Scope]). A row where the check
// is false is a finding; one where it cannot be told because a value is
// missing is not. The standard's own dialect.sheetName and dialect.headerRows
// say the same as sheet and header_row and must agree with them.
//
// # Types
//
// The types are string, integer, number, boolean and date. The others of the
// standard, and a field without a type, are refused. Where the standard leaves
// room, a cell is read as follows; cases are never folded.
//
//   - Integers have digits and a sign alone; 12.0 and 1e3 are none. Their size
//     is below 2^53, so that no digit is lost.
//   - Numbers are decimal, with or without exponent. NaN and INF are none. A
//     decimalChar is a point or a comma. A groupChar stands before every three
//     digits or nowhere, and never behind a leading zero. With bareNumber
//     false, letters, blanks, percent, degree and currency signs around the
//     number are dropped.
//   - Booleans are the words of trueValues and falseValues, which by default
//     are true, True, TRUE, 1 and false, False, FALSE, 0.
//   - Dates are 2024-03-31, or follow a format made of %Y, %m, %d, %b and %B
//     (English names of months). Years of two digits and the format "any" are
//     refused, for they guess. A date is held as days since 1970-01-01.
//   - A field with categories holds texts, whatever its type; coded integers
//     are compared as integers, so that 01 is the category 1. Its categories
//     are its only limit: enum, minimum and the like are refused beside them.
//
// Blanks (no-break spaces among them) around a number, a boolean, a date or a
// missing code do not count; in a text they do. Lengths are in characters. A
// pattern matches the whole text and is a regular expression of Go's package
// regexp, of at most 1,000 characters and about 20,000 steps, in which a repeat
// counts as often as it may be taken.
//
// # Missing values
//
// Missing codes come before values. The codes of a field replace those of its
// schema, whose default is the empty cell alone: a field with the codes NM and
// DK has a fault where its cell is empty, unless it declares the code "" too.
// Refused are a code that is also a legal value (a category, a value of an
// enum, a word of a boolean, a number within limits on both sides) and the
// codes that the program gives itself: fault, undefined, no linked row,
// outside bands, not missing, wrong kind. A number or date that equals a code
// but is written in another way (999.0 for 999) is a fault and not a value.
// A required field may not be missing in any way.
//
// # Files and keys
//
// A table is one file in the codebook's folder or below it; addresses, absolute
// paths, ".." and rows inside the codebook are refused. So are dialects other
// than the one that is read: UTF-8, comma in .csv and tab in .tsv, double
// quotes, one header row. Columns are found by their names, which is the
// standard's fieldsMatch equal. The two sides of a foreign key have the same
// kind of values.
package codebook
