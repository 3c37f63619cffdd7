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
// People who do not write YAML keep the same codebook as a workbook: package
// sheet turns one into the other, and [DecodeDocument] reads what comes of it.
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
//	  items: [heel_raise, {value: orthosis, label: Orthosis}]  # of a list: the
//	                          # only items
//	  plausible: {minimum: 100, maximum: 190}  # written as constraints are; a
//	                          # value outside is kept, with a warning
//	  titles: ["Height (cm)"] # other spellings of the column's title
//	  column: F               # letters of the column, where titles are doubled
//	  percent: shown          # of a number: a cell that shows 45 % is 45
//	                          # (shown) or 0.45 (stored)
//	  exception:              # lets the column through screens for identifiers
//	    screens: [near-unique]
//	    reason: study code issued by the registry
//
// In a resource:
//
//	heelcohort:
//	  sheet: participants     # sheet of the workbook; the only one if left out
//	  header_row: 3           # row of the column names, from 1; 1 if left out
//	  rules: [...]            # see below
//	  k_anonymity: 5          # people who must share their quasi-identifiers;
//	                          # 1 asks for nothing; with bands for numbers it is
//	                          # {at_least: 5, bands: {age: [6, 8, 10, 12, 14]}}
//
// The standard's own dialect.sheetName and dialect.headerRows say the same as
// sheet and header_row and must agree with them.
//
// # Rules
//
// A rule has a name and is of one kind, which its key says (see [RuleKinds]):
//
//	rules:
//	  - name: sitting height ratio
//	    check: "between(sitting_height_cm / height_cm, 0.46, 0.60)"
//	    message: Sitting height is not 0.46 to 0.60 of the height.
//	    severity: warning      # error if left out
//	    where: "site != 'S4'"  # the rows concerned; all if left out
//	    fields: [height_cm]    # where the finding is placed; the variables of
//	                           # the rule if left out
//	  - name: one onset a heel and spell
//	    unique: [participant_id, heel, spell]
//	  - name: overlap in a sport
//	    no_overlap: {from: from_day, to: to_day, within: [participant_id, sport]}
//	  - name: order of days
//	    order: [onset, diagnosed, end_day]
//	    strict: true           # refuses equal days too
//	  - name: within follow-up
//	    within: {day: [onset, diagnosed], from: 0, to: participants.last_contact}
//	  - name: posture total
//	    total: {of: fpi_total, parts: [fpi_1, fpi_2, fpi_3]}
//	  - name: seasons with sport
//	    total: {of: seasons_n, distinct: {table: exposures, of: season}}
//	  - name: hours a week
//	    group: {by: [participant_id, from_day], check: "sum(hours) <= 25"}
//
// An expression, and the variables of order and within, see the row's own
// variables, and as table.variable those of a table that exactly one foreign
// key names, by a key of at most one row (see [Scope]). A rule that is broken is
// a finding; one that cannot be told, because a value is missing or was no
// legal one, is not. A check needs a message; the other kinds have a sentence
// of their own. Of the kinds:
//
//   - check is a boolean expression of package expression on every row.
//   - unique: a row in which one of the variables is missing is passed over.
//     The later row is found and names the first one.
//   - no_overlap: an interval holds the days from "from" to before "to"; with
//     closed: true it holds the day of its end too. Without closed, an interval
//     whose ends are equal holds no day and overlaps none. Rows alike in the
//     variables of within are compared, all rows where it is left out. With
//     open_end: true an empty end (or with open_end: CODE that missing code)
//     says that the interval still runs; any other missing end or start is
//     passed over. Of two that overlap the one that begins later is found, or
//     else the one further down; a row that overlaps several is found once. An
//     interval that ends before it begins is found under the same rule.
//   - order: missing days are passed over, so that the first and the third are
//     compared where the second is missing. The first day that is out of order
//     is found. Numbers and dates are not mixed.
//   - within: both limits are within; a limit is a variable, a number or, for a
//     date, a date such as "2024-03-31". A limit that is missing does not limit.
//   - total: the sum of parts in its row, or of the rows of a table that link to
//     it by a foreign key, their count: {table, when}, the sum: {table, of, when}
//     or the distinct: {table, of, when} values. A row that none links to has 0.
//     It may differ by tolerance, and by the last of twelve digits. Where a part
//     is missing the total must be missing, and nowhere else; missing: skip
//     passes such rows over instead. A row of the other table whose key leads
//     nowhere is counted nowhere.
//   - group: the check is an expression in which what differs between the rows
//     of a group stands in an aggregate: sum, mean, min, max, count, any, all,
//     distinct (see [expression.Aggregates]). The finding is at the group's
//     first row. An aggregate with a missing operand is missing, unless any and
//     all are decided without it; rows in which a variable of by is missing
//     belong to no group.
//
// # Headers
//
// A column is a field's if its title is the field's name or one of its titles.
// Cases count; blanks around a title do not, nor how many blanks or line ends
// stand between its words. Two columns that a field could be are refused,
// unless the field says its column by the letters that a spreadsheet shows (in
// a text file, the letters of its number: the third is C); the title there
// must be one of the field's all the same. Two fields may share a title if
// each says its column.
//
// dialect.headerRows may name several rows, one below the other. A title is
// then made of the parts in its column that are not empty, from above, with
// dialect.headerJoin between them (a blank, if it is left out). A part that is
// merged over several columns of a sheet is part of each; in a text file,
// which cannot say so, an empty part is no part.
//
// # Types
//
// The types are string, integer, number, boolean, date, datetime and list. The
// others of the standard, and a field without a type, are refused. Where the
// standard leaves room, a cell is read as follows; cases are never folded.
//
//   - Integers have digits and a sign alone; 12.0 and 1e3 are none. Their size
//     is below 2^53, so that no digit is lost.
//   - Numbers are decimal, with or without exponent. NaN and INF are none, and
//     digits are those of ASCII. The minus of typesetting (U+2212) is a minus.
//     A decimalChar is a point or a comma. A groupChar stands before every
//     three digits or nowhere, and never behind a leading zero; one that is a
//     blank is also a no-break blank (U+00A0), a thin one (U+2009) or a narrow
//     no-break one (U+202F), and one that is an apostrophe also U+2019. With
//     bareNumber false, letters, blanks, percent, degree and currency signs
//     around the number are dropped. A percent sign behind the number is read
//     where percent is declared: 45 % is 0.45 if it says stored and 45 if it
//     says shown. The point moves in the text, so that nothing is rounded.
//   - Booleans are the words of trueValues and falseValues, which by default
//     are true, True, TRUE, 1 and false, False, FALSE, 0.
//   - Dates are 2024-03-31, or follow a format made of %Y, %m, %d, %b and %B
//     (English names of months). Years of two digits and the format "any" are
//     refused, for they guess. A date is held as days since 1970-01-01.
//     Midnight may stand behind it, as programs write it that know no date
//     without a time; any other time of day is a fault.
//   - Datetimes are 2024-03-31T13:45:00, with or without seconds, fractions of
//     them and the letter Z, with a blank for the T, or without time of day; or
//     they follow a format with %H (and %M, %S) too. Other zones are refused.
//     The time of day is checked and then left aside: the value is the day as
//     it is written, since follow-up counts in days. Limits are days too.
//   - Lists have texts as items, with a delimiter between them (a comma if left
//     out) and none of them twice; blanks around an item do not count. A list is
//     one text to the tables. Expressions ask it for its items, as in
//     has(treatments, "orthosis"), and refuse to compare it, for the order in
//     which its items stand says nothing.
//   - A field with categories holds texts, whatever its type; coded integers
//     are compared as integers, so that 01 is the category 1. Its categories
//     are its only limit: enum, minimum and the like are refused beside them.
//
// Blanks around a cell's text do not count (see [Bare]): the text "SM-0001 " is
// the key SM-0001. Those within it do. A category or enum value that is written
// with blanks around it, and a text that matches its pattern only with them,
// keep them. Lines of a text end in a line feed. Lengths are in characters. A
// pattern matches the whole text and is a regular expression of Go's package
// regexp, of at most 1,000 characters and about 20,000 steps, in which a repeat
// counts as often as it may be taken.
//
// An apostrophe at the beginning may be left over from a spreadsheet, where it
// marks an entry as text. A cell that is not legal with it is read without it.
// A text that nothing but its length limits is legal with it and keeps it; only
// if a missing code follows it is it refused.
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
// A required field may not be missing in any way. In an expression,
// missing_code(x) is compared with the codes of x alone: the 999 of a height is
// refused where x is a day.
//
// # Files and keys
//
// A table is one file in the codebook's folder or below it; addresses, absolute
// paths, ".." and rows inside the codebook are refused. Columns are found by
// their names, which is the standard's fieldsMatch equal. The two sides of a
// foreign key have the same kind of values.
//
// How a text file is written is detected and told when it is read; the
// standard's own words pin it, and a file that is written otherwise is then
// refused:
//
//	encoding: windows-1252   # one of Encodings; cp1252, latin1 and the like too
//	dialect:
//	  delimiter: ";"         # or "," "\t" "|"
//	  quoteChar: "'"         # the double quote if left out
//	  doubleQuote: false     # a quote inside quotes cannot be written; true if left out
//	  lineTerminator: "\r"   # "\n" and "\r\n" both mean either of the two
//
// The other words of a dialect are refused unless they say what is done anyway
// (one header row, blanks and cases kept).
package codebook
