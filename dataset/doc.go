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
// # Files read
//
// Workbooks in xlsx format, and text (.csv, .tsv, .tab, .txt) in the encodings,
// with the separators and the line ends that package delimited reads; how a
// text was read is kept in its [File]. What a file is is told by its first
// bytes before its name: workbooks of other formats, with macros or under a
// password, web pages, archives and pictures are refused with a sentence, and
// so is all that is not a file in the study folder. Formulas are read as the
// value that was stored with them.
package dataset
