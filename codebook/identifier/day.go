package identifier

import (
	"strings"
	"time"
)

// monthNames are the first three letters of the months of several languages.
var monthNames = map[string]time.Month{
	"jan": 1, "feb": 2, "fev": 2, "fév": 2, "mar": 3, "mrz": 3, "mär": 3, "apr": 4, "avr": 4, "may": 5, "mai": 5, "maj": 5,
	"jun": 6, "jui": 6, "jul": 7, "aug": 8, "aou": 8, "aoû": 8, "sep": 9, "oct": 10, "okt": 10, "nov": 11, "dec": 12,
	"dez": 12, "déc": 12, "dic": 12,
}

// dayOf reads a text as a full calendar date, a time of day behind it aside,
// and gives the days since 1970-01-01. Day and month are told apart where they
// can be, else the day is taken to come first: the screens need the years
// alone. Years of two digits are taken for 1931 to 2030.
func dayOf(text string, s shape) (day int, ok bool) {
	if s.digits < 3 || s.digits > 20 || len(text) > 40 || len(text) < 6 {
		return 0, false
	}
	text = strings.TrimSpace(text)
	if s.digits == len(text) {
		if len(text) != 8 {
			return 0, false
		}
		return civil(number(text[:4]), number(text[4:6]), number(text[6:]))
	}
	if i := strings.IndexByte(text, 'T'); i == 10 {
		text = text[:i]
	}
	var parts [3]string
	n := 0
	for part := range strings.FieldsFuncSeq(text, func(r rune) bool { return strings.ContainsRune("-/. ,", r) }) {
		if n == len(parts) {
			if !strings.Contains(part, ":") {
				return 0, false
			}
			break
		}
		parts[n] = part
		n++
	}
	if n != 3 {
		return 0, false
	}
	for i, p := range parts[:2] { // a month in words, first or second
		if len(p) < 3 || isDigit(p[0]) {
			continue
		}
		month, known := monthNames[strings.ToLower(firstRunes(p, 3))]
		other, year := parts[1-i], parts[2]
		if i == 1 && len(other) == 4 {
			other, year = year, other
		}
		other = strings.TrimRight(other, "stndrh")
		if !known || !isDigits(other) || !isDigits(year) || len(other) > 2 {
			return 0, false
		}
		return civil(fullYear(year), int(month), number(other))
	}
	for _, p := range parts {
		if !isDigits(p) || len(p) == 3 || len(p) > 4 {
			return 0, false
		}
	}
	switch {
	case len(parts[0]) == 4 && len(parts[1]) <= 2 && len(parts[2]) <= 2:
		return civil(number(parts[0]), number(parts[1]), number(parts[2]))
	case len(parts[0]) <= 2 && len(parts[1]) <= 2 && (len(parts[2]) == 4 || len(parts[2]) == 2):
		first, second, year := number(parts[0]), number(parts[1]), fullYear(parts[2])
		if d, ok := civil(year, second, first); ok {
			return d, true
		}
		return civil(year, first, second)
	}
	return 0, false
}

// civil is the day of a date that exists, in 1900 to 2100.
func civil(year, month, day int) (int, bool) {
	if year < 1900 || year > 2100 || month < 1 || month > 12 || day < 1 || day > 31 {
		return 0, false
	}
	t := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if t.Day() != day {
		return 0, false
	}
	return int(t.Unix() / 86400), true
}

// fullYear reads a year, of two digits as one of 1931 to 2030.
func fullYear(text string) int {
	y := number(text)
	if len(text) == 2 {
		y += 1900
		if y <= 1930 {
			y += 100
		}
	}
	return y
}

// number reads up to nine digits.
func number(digits string) int {
	n := 0
	for i := range min(len(digits), 9) {
		n = n*10 + int(digits[i]-'0')
	}
	return n
}

func firstRunes(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i]
		}
		n--
	}
	return s
}
