// Package printed writes numbers as a page or a figure prints them, by one rule
// for both.
package printed

import (
	"math"
	"strconv"
	"strings"
)

// Signs that stand for numbers or their parts.
const (
	Dash     = "–" // no value
	Minus    = "−"
	Infinity = "∞" // a limit that the data do not set
)

// Fixed is x with the given number of decimals and commas between thousands.
//
// The float64 itself is rounded, not its shortest decimal text: 2.675 lies
// below two and six hundred seventy-five thousandths in binary and gives 2.67.
// An exact half goes to the even digit. A number that is not zero but rounds
// to it is shown as a bound, <0.01 or >−0.01.
func Fixed(x float64, decimals int) string {
	switch {
	case math.IsNaN(x):
		return Dash
	case math.IsInf(x, 1):
		return Infinity
	case math.IsInf(x, -1):
		return Minus + Infinity
	}
	size := math.Abs(x)
	if size >= 1e7 {
		return powerOfTen(x)
	}
	text := strconv.FormatFloat(size, 'f', decimals, 64)
	if size != 0 && strings.Trim(text, "0.") == "" {
		least := strconv.FormatFloat(math.Pow10(-decimals), 'f', decimals, 64)
		if x < 0 {
			return ">" + Minus + least
		}
		return "<" + least
	}
	text = Thousands(text)
	if x < 0 {
		return Minus + text
	}
	return text
}

// Thousands puts commas into the whole part of a plain decimal text.
func Thousands(text string) string {
	whole, rest, found := strings.Cut(text, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if found {
		return whole + "." + rest
	}
	return whole
}

// powerOfTen is x as 1.2×10⁹.
func powerOfTen(x float64) string {
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(math.Abs(x), 'e', 1, 64), "e")
	exponent = strings.TrimLeft(exponent, "+0")
	raised := strings.NewReplacer(
		"0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹",
	).Replace(exponent)
	if x < 0 {
		mantissa = Minus + mantissa
	}
	return mantissa + "×10" + raised
}

// Exponent is the power of ten of the first digit of x, above 0.
func Exponent(x float64) int {
	_, exponent, _ := strings.Cut(strconv.FormatFloat(x, 'e', 16, 64), "e")
	power, err := strconv.Atoi(exponent)
	if err != nil {
		return 0
	}
	return power
}

// SpreadDecimals is the number of decimals for means and standard deviations
// of a variable with the standard deviation sd: none from 100 on, one from 1
// on, below that two significant digits of sd, at most 6.
func SpreadDecimals(sd float64) int {
	switch {
	case math.IsNaN(sd) || sd <= 0:
		return 1
	case sd >= 100:
		return 0
	case sd >= 1:
		return 1
	}
	return min(1-Exponent(sd), 6)
}

// RateDecimals is the number of decimals for rates that stand together: three
// significant digits for the largest, two for the smallest above 0, at most 6.
func RateDecimals(rates []float64) int {
	decimals := 0
	least, most := math.Inf(1), 0.0
	for _, x := range rates {
		if x > 0 && !math.IsInf(x, 0) {
			least, most = min(least, x), max(most, x)
		}
	}
	if most > 0 {
		decimals = max(2-Exponent(most), 1-Exponent(least))
	}
	return min(max(decimals, 0), 6)
}

// Rate is a rate with the decimals of RateDecimals; a rate of 0 has none.
func Rate(x float64, decimals int) string {
	if x == 0 {
		return "0"
	}
	return Fixed(x, decimals)
}

// P is a P value: two decimals from 0.01 on, three from 0.001 on, below
// that <0.001. Only an exact 1 is shown as 1.00.
func P(p float64) string {
	switch {
	case math.IsNaN(p):
		return Dash
	case p < 0.001:
		return "<0.001"
	case p < 0.01:
		return strconv.FormatFloat(p, 'f', 3, 64)
	case p < 1 && strconv.FormatFloat(p, 'f', 2, 64) == "1.00":
		return ">0.99"
	}
	return strconv.FormatFloat(p, 'f', 2, 64)
}

// Relation is a P value with the sign before it: "= 0.07", "< 0.001".
func Relation(p float64) string {
	text := P(p)
	switch {
	case text == Dash:
		return text
	case strings.HasPrefix(text, "<") || strings.HasPrefix(text, ">"):
		return text[:1] + " " + text[1:]
	}
	return "= " + text
}

// Level is a confidence level as in "95% CI".
func Level(level float64) string {
	return strconv.FormatFloat(math.Round(level*1e8)/1e6, 'f', -1, 64) + "% CI"
}

// Plural is a count with its word: "1 table", "2 analyses", "17,902 rows".
func Plural(n int, word string) string {
	if n != 1 {
		if rest, ok := strings.CutSuffix(word, "is"); ok {
			word = rest + "es"
		} else {
			word += "s"
		}
	}
	return Thousands(strconv.Itoa(n)) + " " + word
}
