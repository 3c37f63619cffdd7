// Package harmless writes texts that came from files of others so that no
// program that shows them does what they say: one function a medium.
//
// A title, a category or a cell can hold a formula, a mark of a page, the
// control characters of a terminal, or characters that turn the direction of
// writing so that a line reads otherwise than it is. In every medium
//
//   - control characters, and those that turn the direction of writing,
//     become visible: \x1b, \u202e;
//   - everything else stays as it is, except for what the medium's own function
//     says.
//
// All functions are idempotent but for the signs that they add, and take any
// bytes: what is no UTF-8 becomes visible too.
package harmless
