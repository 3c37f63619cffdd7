package expression

import (
	"fmt"
	"unicode"
)

// An origin is the source as characters, in which faults are placed.
type origin struct{ runes []rune }

func newOrigin(source string) origin { return origin{[]rune(source)} }

// fault is an error at the character with index at, counted from 0. An index
// behind the text is the place behind its last character.
func (o origin) fault(at int, format string, args ...any) *Error {
	at = max(0, min(at, len(o.runes)))
	e := &Error{Line: 1, Column: 1, Message: fmt.Sprintf(format, args...)}
	for _, r := range o.runes[:at] {
		if r == '\n' {
			e.Line++
			e.Column = 1
		} else {
			e.Column++
		}
	}
	return e
}

// end is the place behind the last character that is not a space.
func (o origin) end() int {
	i := len(o.runes)
	for i > 0 && unicode.IsSpace(o.runes[i-1]) {
		i--
	}
	return i
}

// text is the source from one index to another, as far as it exists.
func (o origin) text(from, to int) string {
	from = max(0, min(from, len(o.runes)))
	to = max(from, min(to, len(o.runes)))
	return string(o.runes[from:to])
}

// match is the number of characters of s if the source has them at an index,
// and 0 otherwise.
func (o origin) match(at int, s string) int {
	n := 0
	for _, r := range s {
		if !o.is(at+n, r) {
			return 0
		}
		n++
	}
	return n
}

// is says whether the character at an index is one of the given ones.
func (o origin) is(at int, characters ...rune) bool {
	if at < 0 || at >= len(o.runes) {
		return false
	}
	for _, r := range characters {
		if o.runes[at] == r {
			return true
		}
	}
	return false
}

// near adds the nearest valid word to an error.
func (e *Error) near(word string) *Error {
	e.Nearest = word
	return e
}

// counted is a number of things: "1 argument", "2 arguments".
func counted(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
