package printedtable

import (
	"math/big"
	"strings"
)

// A Relation is the sign before a number.
type Relation string

// The relations.
const (
	Equal     Relation = ""
	Below     Relation = "<"
	Above     Relation = ">"
	AtMost    Relation = "≤"
	AtLeast   Relation = "≥"
	minusSign          = "−"
)

// A Number is one number as it was printed.
type Number struct {
	Text     string   // with its sign, relation and percent sign, blanks left out
	Digits   string   // its digits with a point, a minus sign before those below 0: -0.50
	Decimals int      // digits after the point
	Relation Relation // "" where none was printed
	Percent  bool     // a percent sign follows
	Exact    bool     // a workbook's stored number, whose printed decimals are not known
}

// Value is the number as an exact fraction, a percent sign left aside.
func (n Number) Value() *big.Rat {
	v, ok := new(big.Rat).SetString(n.Digits)
	if !ok {
		panic("printedtable: no digits: " + n.Digits)
	}
	return v
}

// Whole reports whether the number was printed without decimals.
func (n Number) Whole() bool { return n.Decimals == 0 }

// Unit is one unit of the last printed digit.
func (n Number) Unit() *big.Rat {
	return new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(n.Decimals)), nil))
}

// Range is where a number lies that was rounded to this one: half a unit of its
// last digit to either side.
func (n Number) Range() (low, high *big.Rat) {
	half := new(big.Rat).Mul(n.Unit(), big.NewRat(1, 2))
	return new(big.Rat).Sub(n.Value(), half), new(big.Rat).Add(n.Value(), half)
}

// scanNumber reads the digits at the beginning of text in the given style: how
// many bytes they take, and the digits with a point. Thousands may be set off
// by the other mark, by an apostrophe or by a blank before three digits.
func scanNumber(text string, style Style) (length int, digits string, decimals int) {
	point, comma := byte('.'), byte(',')
	if style == Comma {
		point, comma = comma, point
	}
	whole := run(text)
	if whole == 0 && !(len(text) > 1 && text[0] == point && isDigit(text[1])) {
		return 0, "", 0
	}
	digits, at := text[:whole], whole
	if whole >= 1 && whole <= 3 && text[0] != '0' {
		for {
			width := separatorWidth(text[at:], comma)
			if width == 0 || run(text[at+width:]) != 3 {
				break
			}
			digits += text[at+width : at+width+3]
			at += width + 3
		}
	}
	if at+1 < len(text) && text[at] == point && isDigit(text[at+1]) {
		fraction := run(text[at+1:])
		digits, decimals = digits+"."+text[at+1:at+1+fraction], fraction
		at += 1 + fraction
	}
	if strings.HasPrefix(digits, ".") {
		digits = "0" + digits
	}
	return at, digits, decimals
}

// separatorWidth is the length of a mark between thousands, 0 for none.
func separatorWidth(text string, comma byte) int {
	if text != "" && (text[0] == comma || text[0] == '\'') {
		return 1
	}
	for _, s := range []string{"’", "\u00a0", "\u2009", "\u202f"} {
		if strings.HasPrefix(text, s) {
			return len(s)
		}
	}
	return 0
}

// run is the number of digits that begin text.
func run(text string) int {
	n := 0
	for n < len(text) && isDigit(text[n]) {
		n++
	}
	return n
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }
