// Package intake holds the tests of what comes in: every file of
// testdata/intake against the outcome that its table files.csv wants, one study
// in many encodings, and marked copies in another spreadsheet program. It is of
// tests alone.
package intake
