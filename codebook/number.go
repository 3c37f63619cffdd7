package codebook

import (
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"heelcohort/codebook/value"
)

var (
	decimal = regexp.MustCompile(`^[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?$`)
	whole   = regexp.MustCompile(`^[-+]?[0-9]+$`)
)

// number reads a number as the field's decimalChar, groupChar and bareNumber
// say. NaN and INF are no numbers: a codebook declares them as missing codes
// where they stand in the data. What is too large for a float64 is refused.
func (f *Field) number(text string) (value.Value, bool) {
	if f.Loose {
		text = stripUnit(text)
	}
	text, ok := f.ungroup(text)
	if !ok {
		return value.Value{}, false
	}
	if f.DecimalChar != "" && f.DecimalChar != "." {
		if strings.Contains(text, ".") {
			return value.Value{}, false
		}
		text = strings.Replace(text, f.DecimalChar, ".", 1)
	}
	if !decimal.MatchString(text) || f.Type == TypeInteger && !whole.MatchString(text) {
		return value.Value{}, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return value.Value{}, false
	}
	if x == 0 {
		x = 0 // no negative zero
	}
	return value.Num(x), true
}

// stripUnit drops letters, blanks, percent signs and currency signs before and
// after a number. Anything else, such as "<" or "~", changes what the number
// says and stays in its way.
func stripUnit(text string) string {
	around := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsSpace(r) || unicode.Is(unicode.Sc, r) || strings.ContainsRune("%‰°", r)
	}
	return strings.TrimFunc(text, around)
}

// ungroup drops the marks between thousands. They must stand before every
// three digits or nowhere.
func (f *Field) ungroup(text string) (string, bool) {
	if f.GroupChar == "" || !strings.Contains(text, f.GroupChar) {
		return text, true
	}
	point := f.DecimalChar
	if point == "" {
		point = "."
	}
	end := len(text)
	if i := strings.Index(text, point); i >= 0 {
		end = i
	} else if i := strings.IndexAny(text, "eE"); i >= 0 {
		end = i
	}
	head, tail := text[:end], text[end:]
	if strings.Contains(tail, f.GroupChar) {
		return "", false
	}
	groups := strings.Split(strings.TrimLeft(head, "+-"), f.GroupChar)
	for i, g := range groups {
		if i == 0 && (len(g) < 1 || len(g) > 3) || i > 0 && len(g) != 3 {
			return "", false
		}
	}
	return strings.ReplaceAll(head, f.GroupChar, "") + tail, true
}
