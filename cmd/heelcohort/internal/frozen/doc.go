// Package frozen keeps a plan as it was before data were seen, and tells in
// which lines another one deviates from it.
//
// # Promise
//
// The file holds the plan's SHA-256 and the plan itself, byte by byte; a file
// whose plan does not have that digest is refused. It bears no date: who wants
// one deposits the digest where dates are kept.
package frozen
