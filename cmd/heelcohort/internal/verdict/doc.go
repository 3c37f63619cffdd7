// Package verdict holds the numbers of a printed table against the rows of a
// run, and the numbers of a printed table against each other.
//
// # Promise
//
// Each addressed number is one of three: the same at its printed decimals, off
// by a named way of rounding, or different. A difference is explained only by
// a change that gives every digit of every number of its cell, and only as long
// as the changes tried before it would not have met a wrong number by chance
// more often than in Chance of cases (see the search in search.go).
//
// # Conventions
//
// A result is a float64 that stands for a number of 13 significant digits; what
// lies within that of a half counts as the half. Rounding is to the nearest
// where all rules agree; a half that was rounded up or to the even digit is
// named as such. Ranges of printed numbers are half a unit of their last digit
// to either side.
//
// What the table alone does not bear out is put as a question: it says what
// does not follow, never who erred.
package verdict
