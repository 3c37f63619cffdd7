// Package delivery compares two deliveries of the same tables: what came, what
// went, and which cells changed.
//
// # Promise
//
// Every difference between the two is told once, with its place in both files,
// and nothing else is. Two cells whose values are the same but whose texts
// differ ("9,5" and "9.5", 7 and 07) are told apart from changed ones, as
// written differently.
//
// # Conventions
//
// Rows are paired by the table's primary key, where both codebooks declare the
// same one. Rows that share a key are paired first by equal content, then in
// order. Without a key rows are compared by their whole content, as many times
// as they stand: a changed cell is then a row removed and one added. Variables
// are paired by name. Only what the codebooks declare is read and compared.
//
// The texts of columns that the screen for identifiers holds in either
// delivery are not shown; their length is.
package delivery
