// Package output writes a results folder aside and swaps it in whole.
//
// # Promise
//
// The results folder is, at every moment, what one run wrote or what was there
// before: never a mixture. A run that fails or is killed leaves it as it was.
// A folder that this program did not write is never replaced.
//
// # How
//
// Begin takes a lock beside the folder and makes an empty folder aside; files
// are created in it; Manifest lists them with their SHA-256; Commit renames the
// old folder out of the way and the new one into its place, and removes the
// old one. For results the names aside are .results-lock, .results-new and
// .results-old. What a killed run left of them is cleared, or put back, by the
// next Begin.
//
// The lock belongs to the process and ends with it. The manifest holds no
// clock, no host name and no path outside the study.
package output
