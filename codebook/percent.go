package codebook

import (
	"regexp"
	"strconv"
	"strings"
)

// The words of heelcohort.percent. A cell that shows 45 % stores 0.45: which
// of the two is the value must be said.
const (
	PercentStored = "stored"
	PercentShown  = "shown"
)

var decimalParts = regexp.MustCompile(`^([-+]?)([0-9]*)(?:\.([0-9]*))?(?:[eE]([-+]?[0-9]+))?$`)

// Beyond so many digits a shifted number keeps its exponent.
const longestShift = 400

// ShiftPoint moves the decimal point of a number's text by a number of places,
// to the right where it is positive: 0.07 by 2 is 7. Digits move as text, so
// that nothing is rounded. It reports false for a text that is no decimal
// number.
func ShiftPoint(text string, places int) (string, bool) {
	m := decimalParts.FindStringSubmatch(text)
	if m == nil || m[2] == "" && m[3] == "" {
		return text, false
	}
	sign, digits := m[1], m[2]+m[3]
	point := len(m[2]) + places // where the point stands in digits
	if m[4] != "" {
		e, err := strconv.Atoi(m[4])
		if err != nil || e > longestShift || e < -longestShift {
			mantissa := m[2]
			if m[3] != "" {
				mantissa += "." + m[3]
			}
			return sign + mantissa + "e" + addPlaces(m[4], places), true
		}
		point += e
	}
	if point < 0 {
		digits, point = strings.Repeat("0", -point)+digits, 0
	}
	if point > len(digits) {
		digits += strings.Repeat("0", point-len(digits))
	}
	before, after := strings.TrimLeft(digits[:point], "0"), strings.TrimRight(digits[point:], "0")
	if before == "" {
		before = "0"
	}
	if after != "" {
		after = "." + after
	}
	return sign + before + after, true
}

// addPlaces adds to an exponent that may be too long for an integer; one that
// is stays as it is, for no float64 has it.
func addPlaces(exponent string, places int) string {
	e, err := strconv.Atoi(exponent)
	if err != nil {
		return exponent
	}
	return strconv.Itoa(e + places)
}

// percent checks heelcohort.percent.
func (c *checker) percent(f *Field, raw *rawField) {
	p := raw.Own.Percent
	if p == "" {
		return
	}
	switch {
	case f.Type != TypeNumber && f.Type != TypeInteger:
		c.at(raw.Name.Position, "", "percent of %s, expected a number", article(f.Type))
	case raw.Categories != nil:
		c.at(raw.Name.Position, "", "percent of %s, whose categories are its only values", f.Name)
	case p == PercentStored && f.Loose:
		c.at(raw.Name.Position, "", "percent stored of %s contradicts bareNumber false, by which 45 %% is 45", f.Name)
	default:
		f.Percent = p
	}
}
