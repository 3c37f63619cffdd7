// Package verdictpage shows what package verdict found: as a page, as JSON and
// as lines for the terminal. It judges nothing.
package verdictpage
