// Package draft makes a first codebook from data files that have none.
//
// # Promise
//
// A draft is a set of guesses, and says so: every guess stands beside its
// reason under x-guessed, every doubt under x-notes, and the text begins by
// saying that a person must confirm each. Package codebook accepts the draft,
// and a check of the same files against it refuses nothing.
//
// What could be read in two ways is not chosen: the column stays a string and
// its notes name both readings. A minimum or maximum that was seen is no
// limit; it stands under x-observed and binds nothing.
//
// The draft repeats no cell that could tell who a child is: categories are
// listed only where every one stands in at least three cells and the column's
// title does not speak of a person or a place; ranges only of twenty values and
// more; days by their year alone.
//
// # Conventions
//
// A column is profiled by a function of its cells alone; keys are then sought
// over all tables. The same files give the same bytes.
package draft
