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
// Workbooks in xlsx format (by package ooxml, as a stream), and UTF-8 text
// separated by commas (.csv) or tabs (.tsv). Formulas are read as the value that
// was stored with them.
//
// A file of more than 256 MiB, a table of more than 32 Mi cells or with more
// than 192 MiB of text is refused, and so is an archive that unpacks to more
// than a sheet can need. A sheet of 200,000 rows and 25 columns is read within
// 300 MB of memory.
package dataset
