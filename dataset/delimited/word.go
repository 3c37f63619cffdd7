package delimited

import (
	"strings"
	"unicode"
)

// soundWord reports whether a run of letters, digits and marks is a word as
// people write it: its letters beyond ASCII are among the given ones, upper
// and lower case follow each other as in words, and every mark stands where
// that mark stands. strict is for an encoding that is only suspected.
func soundWord(text, letters string, strict bool) bool {
	word := []rune(text)
	foreign := 0 // letters beyond ASCII in a row
	for i, c := range word {
		var before, after rune
		if i > 0 {
			before = word[i-1]
		}
		if i+1 < len(word) {
			after = word[i+1]
		}
		if c < 0x80 {
			foreign = 0
			if before >= 0x80 && unicode.IsLower(before) && unicode.IsUpper(c) && before != 'ß' {
				return false // cafÉS read wrongly
			}
			continue
		}
		if !isLetter(c) {
			foreign = 0
			if !soundMark(c, before, after, word[i+1:], strict) {
				return false
			}
			continue
		}
		foreign++
		switch {
		case !strings.ContainsRune(letters, c):
			return false
		case foreign > 3, foreign > 1 && foreign == len(word):
			return false // of another script
		case len(word) == 1 && (c == 'Ã' || c == 'Â'):
			return false // half a letter of UTF-8
		case unicode.IsDigit(before), unicode.IsDigit(after):
			return false
		case unicode.IsUpper(c) && unicode.IsLower(before):
			return false
		case unicode.IsUpper(c) && unicode.IsUpper(before) && unicode.IsLower(after):
			return false
		case unicode.IsLower(c) && unicode.IsUpper(after) && c != 'ß':
			return false
		case c == 'ß' && strict && !strings.ContainsRune("aeiouyäöüAEIOUYÄÖÜ", before):
			return false
		case c == 'ì' && strict && before == 0:
			return false
		}
	}
	return true
}

// isLetter leaves out the two ordinal marks, which are used as marks.
func isLetter(c rune) bool { return unicode.IsLetter(c) && c != 'ª' && c != 'º' && c != 'µ' }

// soundMark reports whether a mark stands where it is written: a degree sign
// behind a number, a quotation mark at a word's edge.
func soundMark(c, before, after rune, rest []rune, strict bool) bool {
	letterBefore, letterAfter := isLetter(before), isLetter(after)
	digitBefore, digitAfter := unicode.IsDigit(before), unicode.IsDigit(after)
	switch c {
	case '\u00a0': // blank that does not break
		return !strict || !(letterBefore && letterAfter)
	case '°':
		return !letterBefore || before == 'n' || before == 'N'
	case '²', '³', '¹':
		return !letterAfter
	case 'µ':
		switch string(rest) {
		case "", "g", "m", "l", "L", "s", "mol", "M", "kat", "V", "A", "W", "U", "F", "H":
			return !letterBefore
		}
		return false
	case '±', '§', '½', '¼', '¾', '€', '£', '•':
		return !letterBefore && !letterAfter
	case '×', '÷':
		return !letterBefore && !(strict && letterAfter)
	case '‰', '†', '‡':
		return !letterBefore && !letterAfter && !strict
	case 'ª', 'º':
		return (digitBefore || before == 'n' || before == 'N' || unicode.IsUpper(before)) && !letterAfter
	case '·':
		return before == 'l' && after == 'l' || before == 'L' && after == 'L' || !letterBefore && !letterAfter
	case '¿', '¡':
		return before == 0 && letterAfter && (!strict || unicode.IsUpper(after))
	case '‹', '›':
		return !strict && !(letterBefore && letterAfter)
	case '«', '»', '“', '”', '„', '‘', '‚':
		if strict && (c == '”' || c == '»') && letterAfter {
			return false
		}
		return !(letterBefore && letterAfter)
	case '’':
		return !strict || letterBefore
	case '–', '—':
		return !strict || letterBefore == letterAfter && digitBefore == digitAfter
	case '…':
		return !strict || !letterAfter
	case '™', '®', '©':
		return !letterAfter
	}
	return false
}
