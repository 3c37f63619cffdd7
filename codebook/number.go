package codebook

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"heelcohort/codebook/value"
)

// maxExact is the least integer beyond which a float64 skips integers. It is
// refused itself, for its successor is read as the same number.
const maxExact = 1 << 53

// integer reads digits with or without a sign; 12.0 and 1e3 are no integers.
// Its size is below 2^53, so that no digit is lost.
func (f *Field) integer(text string) (value.Value, bool) {
	v, ok := f.number(text)
	return v, ok && math.Abs(v.Number) < maxExact
}

// number reads a number as the field's decimalChar, groupChar, bareNumber and
// percent say. The minus of typesetting (U+2212) is a minus. NaN and INF are no numbers: a codebook declares them as missing codes
// where they stand in the data. What is too large for a float64 is refused,
// and so is what is not zero and too small for it.
func (f *Field) number(text string) (value.Value, bool) {
	ok := true
	text = plainSigns(text)
	hundredths := false
	if f.Percent != "" {
		if before, found := strings.CutSuffix(text, "%"); found {
			text, hundredths = Bare(before), f.Percent == PercentStored
		}
	}
	if f.Loose {
		if text, ok = stripUnit(text); !ok {
			return value.Value{}, false
		}
	}
	if text, ok = f.ungroup(text); !ok {
		return value.Value{}, false
	}
	if f.DecimalChar != "" && f.DecimalChar != "." {
		if strings.Contains(text, ".") {
			return value.Value{}, false
		}
		text = strings.Replace(text, f.DecimalChar, ".", 1)
	}
	if !isDecimal(text) {
		return value.Value{}, false
	}
	if hundredths {
		text, _ = ShiftPoint(text, -2)
	}
	if f.Type == TypeInteger && !isWhole(text) {
		return value.Value{}, false
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return value.Value{}, false
	}
	if x == 0 {
		digits, _, _ := strings.Cut(strings.ToLower(text), "e")
		if strings.ContainsAny(digits, "123456789") {
			return value.Value{}, false
		}
		x = 0 // no negative zero
	}
	return value.Num(x), true
}

// stripUnit drops letters, blanks, percent signs and currency signs before and
// after a number. Anything else, such as "<" or "~", changes what the number
// says and stays in its way. A sign right behind a letter is refused: whether
// "SM-12" is a negative number or a name cannot be told.
func stripUnit(text string) (string, bool) {
	around := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsSpace(r) || unicode.Is(unicode.Sc, r) || strings.ContainsRune("%‰°", r)
	}
	bare := strings.TrimLeftFunc(text, around)
	before, _ := utf8.DecodeLastRuneInString(text[:len(text)-len(bare)])
	if unicode.IsLetter(before) && strings.IndexAny(bare, "+-") == 0 {
		return "", false
	}
	return strings.TrimRightFunc(bare, around), true
}

// ungroup drops the marks between thousands. They must stand before every
// three digits or nowhere, and not behind a leading zero: "0,123" is a
// fraction with another decimal mark and not 123.
func (f *Field) ungroup(text string) (string, bool) {
	if f.GroupChar == "" {
		return text, true
	}
	if alike := alikeMarks(f.GroupChar); alike != "" {
		text = strings.Map(func(r rune) rune {
			if strings.ContainsRune(alike, r) {
				return []rune(f.GroupChar)[0]
			}
			return r
		}, text)
	}
	if !strings.Contains(text, f.GroupChar) {
		return text, true
	}
	point := f.DecimalChar
	if point == "" {
		point = "."
	}
	end := len(text)
	if i := strings.Index(text, point); i >= 0 && f.Type != TypeInteger {
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
		if i == 0 && (len(g) < 1 || len(g) > 3 || g[0] == '0') || i > 0 && len(g) != 3 {
			return "", false
		}
	}
	return strings.ReplaceAll(head, f.GroupChar, "") + tail, true
}

// Marks between thousands that look alike, so that programs write one for the
// other.
const (
	blankMarks      = " \u00a0\u2009\u202f"
	apostropheMarks = "'\u2019"
)

// alikeMarks are the marks that stand for a declared one, itself among them;
// "" where it stands alone.
func alikeMarks(mark string) string {
	for _, alike := range []string{blankMarks, apostropheMarks} {
		if strings.Contains(alike, mark) {
			return alike
		}
	}
	return ""
}

// plainSigns writes the minus of typesetting as the one of the keyboard.
func plainSigns(text string) string { return strings.ReplaceAll(text, "\u2212", "-") }
