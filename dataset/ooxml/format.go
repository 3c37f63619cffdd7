package ooxml

import (
	"strings"
	"unicode"
)

// A Format is the kind of a number format: how a number is shown.
type Format uint8

// The kinds. A format that is of several kinds is of the first of Date,
// Percent, Padded.
const (
	Plain   Format = iota // as a number, or not known
	Date                  // as a day, a time or both; [h]:mm too
	Percent               // a hundredfold, with a percent sign
	Padded                // whole digits behind leading zeros, such as 0000
)

// formatOf tells the kind of a format's code from its first section, that of
// numbers above zero. Quoted and escaped characters, colours, conditions and
// languages are passed over.
func formatOf(code string) Format {
	var placeholders, percent bool
	zeros, fraction := 0, false
	var runs []rune // letters outside of quotes, one of each run of the same
	repeats := true // no word among the runs, but letters repeated
	letters := []rune(code)
	for i := 0; i < len(letters); i++ {
		switch c := letters[i]; {
		case c == ';':
			i = len(letters)
		case c == '"':
			for i++; i < len(letters) && letters[i] != '"'; i++ {
			}
		case c == '\\' || c == '_' || c == '*':
			i++
		case c == '[':
			from := i + 1
			for i++; i < len(letters) && letters[i] != ']'; i++ {
			}
			if elapsed(string(letters[from:min(i, len(letters))])) {
				return Date
			}
		case c == '%':
			percent = true
		case c == '0' || c == '#' || c == '?':
			// The digits of mm:ss.0 follow the letters of a time.
			if !dateLetters(runs) {
				placeholders = true
			}
			if c == '0' && !fraction {
				zeros++
			}
		case c == '.':
			fraction = true
		case c == '@':
			return Plain
		case (c == 'E' || c == 'e') && i+1 < len(letters) && (letters[i+1] == '+' || letters[i+1] == '-') && placeholders:
			fraction = true // the zeros of an exponent pad nothing
		case unicode.IsLetter(c) && c < 0x2e80:
			word := string(letters[i:min(len(letters), i+8)])
			if n := generalLength(word); n > 0 {
				placeholders = true
				i += n - 1
				continue
			}
			low := unicode.ToLower(c)
			runs = append(runs, low)
			for i+1 < len(letters) && unicode.ToLower(letters[i+1]) == low {
				i++
			}
			if i+1 < len(letters) && unicode.IsLetter(letters[i+1]) && letters[i+1] < 0x2e80 {
				repeats = false
			}
		}
	}
	switch {
	case !placeholders && (dateLetters(runs) || repeats && localDate(runs)):
		return Date
	case percent:
		return Percent
	case zeros > 1:
		return Padded
	}
	return Plain
}

// elapsed reports whether brackets hold an amount of time, such as [h].
func elapsed(inside string) bool {
	low := strings.ToLower(inside)
	return low != "" && (strings.Trim(low, "h") == "" || strings.Trim(low, "m") == "" || strings.Trim(low, "s") == "")
}

// dateLetters reports whether one of the letters stands for a part of a day or
// a time wherever a workbook is written.
func dateLetters(runs []rune) bool {
	for _, c := range runs {
		if strings.ContainsRune("ymdhs", c) {
			return true
		}
	}
	return false
}

// localDate reports whether the letters are a day as programs write it that
// store the letters of their own language: TT.MM.JJJJ, jj/mm/aaaa, dd.mm.åååå,
// pp.kk.vvvv, gg.aa.yyyy, дд.мм.гггг. One letter alone may be anything.
func localDate(runs []rune) bool {
	known := 0
	for _, c := range runs {
		if !strings.ContainsRune("tmjaågpkvrdyhseéндмгчс", c) {
			return false
		}
		known++
	}
	return known >= 2
}

// generalLength is the length of the word for a number as it is that begins a
// text, in English or German, or 0.
func generalLength(text string) int {
	for _, word := range []string{"General", "Standard"} {
		if len(text) >= len(word) && strings.EqualFold(text[:len(word)], word) {
			return len(word)
		}
	}
	return 0
}
