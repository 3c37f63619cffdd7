// Package proposal guesses which number of a printed table is which result, for
// a person to confirm.
//
// # Promise
//
// A proposal says why it was made: by the labels and the values, by the labels
// alone, or by the values alone. What has no one best result stays open. Nothing
// proposed counts as confirmed, because a value that was chosen for being the
// same says nothing about a table.
package proposal
