package identifier

import "strings"

// A phoneSort says how sure it is that a phone number stands in a text.
type phoneSort uint8

const (
	noPhone    phoneSort = iota
	mayBePhone           // all of the text is shaped like a national number
	surePhone            // an international number, or one within words
)

// phoneOf looks for a phone number. International numbers are + and 8 to 15
// digits. National ones begin with 0 and another digit and have 9 to 11 digits
// in groups, or are 3, 3 and 4 digits of which the first two groups begin with
// 2 to 9; where nothing else stands in the cell, a study code can look the
// same. A date, a decimal number and a list of small numbers are none.
func phoneOf(text string, s shape) phoneSort {
	if s.digits < 8 {
		return noPhone
	}
	found := noPhone
	for i := 0; i < len(text); {
		c := text[i]
		if i > 0 && (isWordByte(text[i-1]) || text[i-1] == '.' || text[i-1] == ',') || !isDigit(c) && c != '+' && c != '(' {
			i++
			continue
		}
		n := phoneRun(text[i:])
		if n == 0 {
			i++
			continue
		}
		run := strings.TrimRight(text[i:i+n], " -/.()")
		end := i + n
		sure, may := phoneShape(run)
		if end < len(text) && isLetter(text[end]) && end == i+len(run) {
			sure, may = false, false // digits of a code that goes on
		}
		switch {
		case sure:
			return surePhone
		case may && s.letters >= 3:
			return surePhone
		case may:
			found = mayBePhone
		}
		i = end
	}
	return found
}

// phoneRun is the length of the digits and signs with which a text begins.
func phoneRun(text string) int {
	n := 0
	for n < len(text) && (isDigit(text[n]) || strings.IndexByte(" -/.()", text[n]) >= 0 || text[n] == '+' && n == 0) {
		n++
	}
	for k := range n {
		if isDigit(text[k]) {
			return n
		}
	}
	return 0
}

// phoneShape reports whether digits with their signs are a phone number.
func phoneShape(run string) (sure, may bool) {
	var groups []string
	all := 0
	for _, g := range strings.FieldsFunc(run, func(r rune) bool { return r < '0' || r > '9' }) {
		groups = append(groups, g)
		all += len(g)
	}
	if run[0] == '+' {
		return len(run) > 1 && (isDigit(run[1]) || run[1] == '(') && groups[0][0] != '0' && all >= 8 && all <= 15 && !strings.Contains(run, ".") ||
			all >= 9 && all <= 15 && strings.Count(run, ".") > 1, false
	}
	if strings.Contains(run, ".") || len(groups) < 2 {
		return false, false
	}
	if len(groups) == 3 && len(groups[0]) == 3 && len(groups[1]) == 3 && len(groups[2]) == 4 && groups[0][0] >= '2' && groups[1][0] >= '2' {
		return false, true
	}
	first := groups[0]
	if len(first) < 2 || first[0] != '0' {
		return false, false
	}
	if first[1] == '0' { // 0049 30 123456
		return false, len(first) >= 4 && len(first) <= 5 && first[2] != '0' && all >= 10 && all <= 16
	}
	if all < 9 || all > 12 {
		return false, false
	}
	pairs := true
	for _, g := range groups {
		pairs = pairs && len(g) == 2
	}
	if pairs {
		return false, len(groups) == 5 && strings.Count(run, "-")+strings.Count(run, "/") == 0
	}
	return false, len(first) >= 3
}
