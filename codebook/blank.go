package codebook

import (
	"strings"
	"unicode"
)

// Bare is a text without the blanks around it: spaces of every width, no-break
// spaces, tabs, line ends, and the marks that have no width at all (zero-width
// spaces and joiners, marks of direction, byte order marks).
func Bare(text string) string {
	if n := len(text); n > 0 && isInk(text[0]) && isInk(text[n-1]) {
		return text
	}
	return strings.TrimFunc(text, func(r rune) bool {
		return unicode.IsSpace(r) || r >= '\u200b' && r <= '\u200f' || r == '\u2060' || r == '\ufeff'
	})
}

// isInk reports whether a byte is a visible character of ASCII.
func isInk(c byte) bool { return c > ' ' && c < 0x7f }

// Heading is a column's title as titles are compared: without blanks around
// it, and every run of blanks or line ends within it one blank.
func Heading(text string) string {
	return strings.Join(strings.FieldsFunc(Bare(text), unicode.IsSpace), " ")
}

// lines is a text whose lines end as Unix ends them, so that a file's habit
// does not count.
func lines(text string) string {
	if !strings.Contains(text, "\r") {
		return text
	}
	return strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
}
