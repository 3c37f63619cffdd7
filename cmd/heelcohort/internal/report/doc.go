// Package report turns result rows into things people read: report.html,
// tables.xlsx, methods.md.
//
// # Promise
//
// Nothing is computed here. Every number on the page comes from one result
// row and carries that row's address (data-row); the page and the workbook
// show the same sheets. All text of data, codebook and plan arrives as text,
// never as markup. The page needs no network and no script.
//
// # Conventions
//
// Numbers are rounded on display only, by the rule in numbers.go: the float64
// itself is rounded to the decimals shown, and an exact half goes to the even
// digit. A number that is not zero is never shown as zero. A missing value is
// an en dash, a number that could not be estimated says so and has a footnote
// with the reason; a cell is never empty.
package report
