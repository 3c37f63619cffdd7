// Package dataset reads a study's spreadsheets against its codebook, locates
// every fault by file, sheet and cell, and writes copies in which the faults
// are marked.
//
// # Promise
//
// Nothing is guessed. A cell is present with a value of its field's type,
// missing by a code the codebook declares, or invalid with a finding; it is
// never quietly turned into something else. What cannot be read as a table at
// all (a missing sheet, a missing or doubled column, a damaged file) is an
// error, of type *ReadError, and no table is returned.
//
// # Conventions
//
// Rows and columns count from 1, as a spreadsheet shows them; for a text file
// the row is the line on which the record begins. Dates are days since
// 1970-01-01. Numbers keep the precision of the file. Files are named relative
// to the study folder, with slashes.
//
// The same files give the same tables, findings and bytes on any number of
// cores.
//
// # Identifiers
//
// Screen looks for what names people or could single one out (package
// identifier says how) in every column, in columns and sheets that the codebook
// does not know, above the header, and in a workbook's comments and
// properties. No finding that it returns shows a cell of a column that is held.
// A marked copy is a copy: its cells hold what they held.
//
// # Files read
//
// Workbooks in xlsx format, and UTF-8 text separated by commas (.csv) or tabs
// (.tsv). Formulas are read as the value that was stored with them.
package dataset
