package report

import (
	"math"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// Words and signs that stand for numbers.
const (
	dash         = printed.Dash
	minus        = printed.Minus
	infinity     = printed.Infinity
	notEstimable = "not estimable"
	notReached   = "not reached"
	suppressed   = "suppressed"
)

// infinite is the value of an unbounded limit.
var infinite = math.Inf(1)

// ratio is a ratio with two decimals.
func ratio(x float64) string { return printed.Fixed(x, 2) }

// percent is 100 times a share as printed beside a count: without decimals
// when fewer than 100 are the whole, else with one. 0% and 100% are exact;
// what rounds to them is shown as a bound.
func percent(x, whole float64) string {
	if math.IsNaN(x) {
		return dash
	}
	decimals := 1
	if whole < 100 {
		decimals = 0
	}
	switch {
	case x == 0:
		return "0%"
	case x == 100:
		return "100%"
	case x < 100 && strconv.FormatFloat(x, 'f', decimals, 64) == strconv.FormatFloat(100, 'f', decimals, 64):
		return ">" + strconv.FormatFloat(100-math.Pow10(-decimals), 'f', decimals, 64) + "%"
	}
	return printed.Fixed(x, decimals) + "%"
}

// count is a whole number with commas; all its digits when it is not whole.
func count(x float64) string {
	if x == math.Trunc(x) && math.Abs(x) < 1e15 {
		text := printed.Thousands(strconv.FormatFloat(math.Abs(x), 'f', 0, 64))
		if x < 0 {
			return minus + text
		}
		return text
	}
	return plain(x)
}

// plain is x with the fewest digits that read back as x, for times and
// degrees of freedom.
func plain(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return printed.Fixed(x, 0)
	}
	return strings.Replace(result.Number(x).String(), "-", minus, 1)
}

// amount is person-time: whole from 1,000 on, else with one or two decimals.
func amount(x float64) string {
	switch {
	case x == math.Trunc(x):
		return count(x)
	case x >= 1000:
		return count(math.RoundToEven(x))
	case x >= 100:
		return printed.Fixed(x, 1)
	}
	return printed.Fixed(x, 2)
}

// rateDecimals is the number of decimals for a column of rates.
func rateDecimals(rates []float64) int { return printed.RateDecimals(rates) }

// neededDecimals is the fewest decimals, at most the given ones, that show all
// values exactly.
func neededDecimals(values []float64, most int) int {
	needed := 0
	for _, x := range values {
		for needed < most && !math.IsNaN(x) && !shownExactly(x, needed) {
			needed++
		}
	}
	return needed
}

// shownExactly reports whether the text of x with the given decimals reads
// back as x.
func shownExactly(x float64, decimals int) bool {
	back, err := strconv.ParseFloat(strconv.FormatFloat(x, 'f', decimals, 64), 64)
	return err == nil && back == x
}
