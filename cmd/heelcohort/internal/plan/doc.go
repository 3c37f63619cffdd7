// Package plan reads the analysis plan of a study, study.yaml: who is analysed,
// what is derived, which tables and figures are made.
//
// Decode knows the words of a plan and refuses what it does not know, with the
// line, the column and the nearest valid word. Whether the variables a plan
// names exist is the codebook's matter; package cohort asks it.
package plan
