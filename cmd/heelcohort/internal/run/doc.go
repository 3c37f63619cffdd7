// Package run computes a study: it reads plan, codebook and data, makes the
// cohort and turns every analysis of the plan into addressed result rows.
//
// A kind of analysis is an entry of kinds: its plan type is checked against
// codebook and derived variables by bind, before any data are read, and its job
// computes the rows. All estimates come from package stats; this package counts,
// selects and names.
package run
