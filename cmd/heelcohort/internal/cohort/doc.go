// Package cohort turns a study's tables into the rows that are analysed: it
// makes the plan's derived variables, takes its population steps, and follows
// the links between tables.
//
// An instrument of the plan is bound to its variables in bind*.go: their kinds,
// units and legal values are checked against the codebook, Inspect finds what
// is not legal in its cell, and Build keeps an account of what each gave.
// Scores of different scales are never pooled by an expression.
//
// Compile checks every name and expression of the plan against the codebook
// before any data are read; Build does the work. Derived variables are made
// first, row by row and on all rows, then the population steps are taken in
// order; a row whose condition cannot be decided is removed and counted apart.
// Rows that link to a removed row are removed with it.
package cohort
