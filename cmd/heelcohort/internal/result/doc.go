// Package result holds what a run found: every estimate as one addressed row.
// Report, workbook, tables and figures are made from these rows alone.
//
// # Promise
//
// A sealed Results is complete and consistent: every row has an address that
// no other row has, a row without a number says why, and no count, probability
// or standard error has an impossible value. What WriteJSON writes, ReadJSON
// reads back bit by bit; a file with a key missing, unknown or null where it
// may not be is refused, never filled in.
//
// # Conventions
//
// NaN is an absent number, +Inf and -Inf are unbounded; neither is ever
// written as 0. In JSON they are null, "unbounded" and "unbounded below"; in
// CSV an empty field and the same two words. All other numbers are written
// with the fewest digits that read back as the same float64.
//
// The rows that each kind of analysis writes are listed in rows.md.
package result
