// Package cohort turns a study's tables into the rows that are analysed: it
// makes the plan's derived variables, takes its population steps, and follows
// the links between tables.
//
// Compile checks every name and expression of the plan against the codebook
// before any data are read; Build does the work. Derived variables are made
// first, row by row and on all rows, then the population steps are taken in
// order; a row whose condition cannot be decided is removed and counted apart.
// Rows that link to a removed row are removed with it.
package cohort
