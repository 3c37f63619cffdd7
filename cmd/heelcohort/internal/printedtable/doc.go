// Package printedtable reads a table as it stands in print: every cell as the
// text that was printed, every number with the decimals that it was printed
// with, and the file that says which number of which cell is which result.
//
// # Promise
//
// A number is read from its digits and never by way of a float, so that 1.50
// is not 1.5. What can be read two ways is refused with its cell: a comma that
// may stand before decimals or between thousands, a number that a workbook
// stores without the zeros that were printed, a text that is none of the forms
// that Parse lists.
//
// # Conventions
//
// Rows and columns count from 1, rows as the sheet's rows or the file's lines.
// A table writes its decimals one way throughout, with points or with commas.
package printedtable
