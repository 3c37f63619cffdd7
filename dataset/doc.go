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
// to the study folder, with slashes. Column.Source keeps the text of every
// cell as it was read, whatever the codebook made of it.
//
// The same files give the same tables, findings and bytes on any number of
// cores.
//
// A finding of a rule across rows stands at one of them and names the others
// (Finding.Others). A value outside of its plausible range is present, with a
// warning.
//
// # Workbooks written
//
// [WriteWorkbook] writes sheets of texts and numbers. [WriteTemplate] writes an
// empty workbook for entering the data of a codebook, whose cells take what the
// codebook allows: a filled one has no findings but those that a spreadsheet
// program cannot prevent.
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
// Workbooks in xlsx format, and text (.csv, .tsv, .tab, .txt) in the encodings,
// with the separators and the line ends that package delimited reads; how a
// text was read is kept in its [File]. What a file is is told by its first
// bytes before its name: workbooks of other formats, with macros or under a
// password, web pages, archives and pictures are refused with a sentence, and
// so is all that is not a file in the study folder. Formulas are read as the
// value that was stored with them.
//
// A file of more than 256 MiB, a table of more than 32 Mi cells or with more
// than 192 MiB of text is refused, and so is an archive that unpacks to more
// than a sheet can need. A sheet of 200,000 rows and 25 columns is read within
// 300 MB of memory.
//
// # What a workbook's cell means
//
// A text is read as that of a text file, by the codebook. Numbers, booleans and
// days that a workbook stores as such are what their field takes them for:
//
//   - A number in a field of numbers is read whatever marks the field declares.
//     One that is shown as a day, a time or a percentage is a finding (date
//     cell, percent cell): it may have been meant as what is seen. For a
//     percentage the field says by heelcohort.percent which of the two is its
//     value.
//   - A number in a field of texts is its shortest decimal form. It is a finding
//     where that is not what was typed: one that is shown as a day (date cell),
//     as a percentage (percent cell) or with zeros before it (padded number),
//     and one of more than the 15 digits that spreadsheets keep (long number).
//   - A number in a field of dates counts days, from 1900 or 1904 as the
//     workbook says; days before 1900-03-01 of the first are refused, for
//     programs disagree about them. The fraction is the time of day, to the
//     millisecond: refused in a date unless it is midnight, left aside in a
//     datetime. A number that the sheet does not show as a date counts days up
//     to 99999; a longer one may be the digits of a date and is refused, unless
//     the field's format is digits alone, such as %Y%m%d. That format reads
//     every number that is not shown as a date, and refuses one that lacks
//     digits unless the sheet shows zeros before it.
//   - A boolean is what the field's words for it are. The numbers 1 and 0 are
//     booleans where these are among the words, as they are by default.
//
// A missing code is one in a number's cell too: 999 among dates is no day.
//
// # Headers
//
// Titles of columns are texts; of a number or a day its text counts, as 2021 or
// 2021-01-31. A header over several rows takes the areas that are merged
// sideways into account. A title that stands twice is refused where a variable
// could be either column, and a finding (unknown column) where none could.
package dataset
