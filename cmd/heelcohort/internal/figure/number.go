package figure

import (
	"math"
	"strconv"
	"strings"
)

// fixed is x with the given number of decimals and commas between thousands; a
// number that is not zero but rounds to it is shown as a bound, <0.01.
func fixed(x float64, decimals int) string {
	switch {
	case math.IsNaN(x):
		return "–"
	case math.IsInf(x, 1):
		return "∞"
	case math.IsInf(x, -1):
		return "−∞"
	}
	size := math.Abs(x)
	if size >= 1e7 {
		return strconv.FormatFloat(x, 'e', 1, 64)
	}
	text := strconv.FormatFloat(size, 'f', decimals, 64)
	if size != 0 && strings.Trim(text, "0.") == "" {
		least := strconv.FormatFloat(math.Pow10(-decimals), 'f', decimals, 64)
		if x < 0 {
			return ">−" + least
		}
		return "<" + least
	}
	whole, rest, found := strings.Cut(text, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if found {
		whole += "." + rest
	}
	if x < 0 {
		return "−" + whole
	}
	return whole
}

// percent is a share as in "95%".
func percent(x float64) string {
	return strconv.FormatFloat(math.Round(x*1e8)/1e6, 'f', -1, 64) + "%"
}

// pValue is a P value with its sign: two decimals from 0.01 on, three from
// 0.001 on, below that < 0.001. Only an exact 1 is shown as 1.00.
func pValue(p float64) string {
	switch {
	case p < 0.001:
		return "< 0.001"
	case p < 0.01:
		return "= " + strconv.FormatFloat(p, 'f', 3, 64)
	case p < 1 && strconv.FormatFloat(p, 'f', 2, 64) == "1.00":
		return "> 0.99"
	}
	return "= " + strconv.FormatFloat(p, 'f', 2, 64)
}

// plain is x with the fewest digits that read back as x.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
