package expression

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// A spelling is a sequence of characters that the language refuses outside
// texts, with what to write instead; "" is one that it accepts.
type spelling struct{ found, expected string }

// spellings are tried in order: longer ones first.
var spellings = []spelling{
	{"//", "no comment, or / to divide"},
	{"/*", "no comment"},
	{"===", "=="},
	{"!==", "!="},
	{"??", "coalesce(a, b)"},
	{"?.", "a space after ?"},
	{"?:", "condition ? a : b, or coalesce(a, b)"},
	{"::", "condition ? a : b"},
	{"..", "between(x, low, high)"},
	{"<>", "!="},
	{"=<", "<="},
	{"=>", ">="},
	{"==", ""},
	{"!=", ""},
	{"<=", ""},
	{">=", ""},
	{"&&", ""},
	{"||", ""},
	{"=", "== to compare"},
	{"&", "and"},
	{"|", "or"},
	{"^", "** for a power"},
	{";", "one expression"},
	{"#", "no comment"},
	{"`", `a text in quotes: "..."`},
	{"{", "no braces"},
	{"}", "no braces"},
	{"“", `straight quotes: "..."`},
	{"”", `straight quotes: "..."`},
	{"„", `straight quotes: "..."`},
	{"‘", `straight quotes: '...'`},
	{"’", `straight quotes: '...'`},
	{"≤", "<="},
	{"≥", ">="},
	{"≠", "!="},
	{"−", "- to subtract"},
	{"–", "- to subtract"},
	{"×", "* to multiply"},
	{"÷", "/ to divide"},
}

// reserved are the words that the parser knows and the language does not.
var reserved = []spelling{
	{"contains", "== or in"},
	{"else", "condition ? a : b"},
	{"endsWith", "== or in"},
	{"if", "condition ? a : b"},
	{"let", "an expression without definitions"},
	{"matches", "== or in"},
	{"startsWith", "== or in"},
}

// scan walks over the source outside texts and refuses what the parser would
// read in a way of its own: comments, pipes, numbers that are not decimal.
func scan(o origin) error {
	for i := 0; i < len(o.runes); {
		end, err := scanOne(o, i)
		if err != nil {
			return err
		}
		i = end
	}
	return nil
}

// scanOne gives the index behind the text, word, number or sign at i.
func scanOne(o origin, i int) (int, error) {
	switch r := o.runes[i]; {
	case r == '"' || r == '\'':
		end := textEnd(o, i)
		if end < 0 {
			return 0, o.fault(i, "found a text without its closing %c", r)
		}
		return end, nil
	case o.digit(i) || r == '.' && o.digit(i+1):
		return scanNumber(o, i)
	case o.letter(i):
		return scanWord(o, i)
	}
	for _, s := range spellings {
		n := o.match(i, s.found)
		switch {
		case n == 0:
		case s.expected == "":
			return i + n, nil
		default:
			return 0, o.fault(i, "found %s, expected %s", s.found, s.expected)
		}
	}
	return i + 1, nil
}

// scanWord reads a name, and refuses a reserved word unless it stands behind a
// point, and a letter that marks the text behind it.
func scanWord(o origin, i int) (int, error) {
	end := i
	for o.letter(end) {
		end++
	}
	word := o.text(i, end)
	if o.is(end, '"', '\'') && strings.EqualFold(word, "b") {
		return 0, o.fault(i, "found %s before a text, expected the text alone", word)
	}
	if at := slices.IndexFunc(reserved, func(s spelling) bool { return s.found == word }); at >= 0 && !o.is(i-1, '.') {
		return 0, o.fault(i, "found the reserved word %s, expected %s", word, reserved[at].expected)
	}
	return end, nil
}

// decimal is a number as the language writes it.
var decimal = regexp.MustCompile(`^([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?$`)

// maxExact is the largest integer up to which every integer is a float64.
const maxExact = 1 << 53

// scanNumber reads a number and refuses one that a float64 cannot hold.
func scanNumber(o origin, i int) (int, error) {
	end := i
	for o.letter(end) || o.is(end, '.') && !o.is(end+1, '.') || o.is(end, '+', '-') && o.is(end-1, 'e', 'E') {
		end++
	}
	text := o.text(i, end)
	if !decimal.MatchString(text) {
		return 0, o.fault(i, "found %s, expected a decimal number such as 12 or 0.5", text)
	}
	x, err := strconv.ParseFloat(text, 64)
	mantissa, _, _ := strings.Cut(strings.ToLower(text), "e")
	switch {
	case err != nil || math.IsInf(x, 0):
		return 0, o.fault(i, "found %s, which is too large for a number", text)
	case x == 0 && strings.ContainsAny(mantissa, "123456789"):
		return 0, o.fault(i, "found %s, which is too small for a number other than 0", text)
	}
	if strings.ContainsAny(text, ".eE") {
		return end, nil
	}
	if n, err := strconv.ParseInt(text, 10, 64); err != nil || n > maxExact {
		return 0, o.fault(i, "found %s, expected an integer up to %d, beyond which integers are not exact", text, int64(maxExact))
	}
	return end, nil
}

// textEnd is the index behind the text that starts at i with its quote, or -1.
func textEnd(o origin, i int) int {
	quote := o.runes[i]
	for i++; i < len(o.runes); i++ {
		switch o.runes[i] {
		case quote:
			return i + 1
		case '\n':
			return -1
		case '\\':
			i++
		}
	}
	return -1
}

// letter says whether the character at an index can be part of a name.
func (o origin) letter(at int) bool {
	if at < 0 || at >= len(o.runes) {
		return false
	}
	r := o.runes[at]
	return r == '_' || r == '$' || unicode.IsLetter(r) || unicode.IsDigit(r)
}

// digit says whether the character at an index is one of 0 to 9.
func (o origin) digit(at int) bool {
	return at >= 0 && at < len(o.runes) && '0' <= o.runes[at] && o.runes[at] <= '9'
}

// unclosed gives the innermost sign before an index that waits for its other
// half: a bracket or a question mark, or 0.
func unclosed(o origin, at int) rune {
	var stack []rune
	partner := map[rune]rune{')': '(', ']': '[', ':': '?'}
	for i := 0; i < at && i < len(o.runes); {
		r := o.runes[i]
		switch n := len(stack); r {
		case '(', '[', '?':
			stack = append(stack, r)
		case ')', ']', ':':
			if n > 0 && stack[n-1] == partner[r] {
				stack = stack[:n-1]
			}
		}
		end, err := scanOne(o, i)
		if err != nil {
			break
		}
		i = end
	}
	if len(stack) == 0 {
		return 0
	}
	return stack[len(stack)-1]
}
