package ooxml

import "strconv"

// Shortest rewrites a stored number in the shortest form that reads back as
// the same number: programs store 9.1 as 9.0999999999999996, which would miss
// a category or a missing code written 9.1. A text that is no number is left
// alone.
func Shortest(text string) string {
	if isShortest(text) {
		return text
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || !startsNumber(text) {
		return text
	}
	if a := max(x, -x); x == 0 || a >= 1e-6 && a < 1e21 {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// startsNumber keeps words that Go reads as numbers (NaN, Inf, 0x1p-2, 1_000)
// out of the rewriting.
func startsNumber(text string) bool {
	for i := range len(text) {
		switch c := text[i]; {
		case c >= '0' && c <= '9', c == '.', c == '-', c == '+', c == 'e', c == 'E':
		default:
			return false
		}
	}
	return true
}

// isShortest reports whether text is certainly in its shortest form already:
// at most 15 digits, with which no two texts are the same number, none of them
// a leading or trailing zero that could be dropped.
func isShortest[T string | []byte](text T) bool {
	i := 0
	if len(text) > 1 && text[0] == '-' {
		i = 1
	}
	if len(text) == 0 || len(text)-i > 16 {
		return false
	}
	digits, point := 0, -1
	for j := i; j < len(text); j++ {
		switch c := text[j]; {
		case c >= '0' && c <= '9':
			digits++
		case c == '.' && point < 0 && j > i:
			point = j
		default:
			return false
		}
	}
	if digits > 15 || digits == 0 {
		return false
	}
	if text[i] == '0' && len(text) > 1 { // 0 alone, or a fraction not too small
		if point != i+1 || len(text) < i+3 {
			return false
		}
		zeros := 0
		for j := point + 1; j < len(text) && text[j] == '0'; j++ {
			zeros++
		}
		if zeros >= 6 {
			return false
		}
	}
	return point < 0 || text[len(text)-1] != '0' && text[len(text)-1] != '.'
}
