package codebookpage

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/stats"
)

// leastForExtremes is the number of values below which no minimum, no maximum
// and no histogram is shown.
const leastForExtremes = 20

// numbers describes amounts. Those in days are rounded to weeks and have no
// extremes.
func (v *variableView) numbers(values []float64, days bool, small int) {
	if len(values) < small {
		v.note(fmt.Sprintf("Fewer than %d values: they are not described.", small))
		return
	}
	s := stats.Describe(values)
	decimals := printed.SpreadDecimals(s.SD)
	plain := func(x float64) string { return shortest(x, decimals) }
	quartile := plain
	if days && small > 0 {
		quartile = func(x float64) string { return shortest(7*math.RoundToEven(x/7), 0) }
		v.note("Days are shown to the nearest week (7 days), without the first and the last.")
	}
	v.Numbers = append(v.Numbers, fact{"Mean (SD)", meanText(s, decimals)})
	enough := small == 0 || len(values) >= leastForExtremes && !days
	if enough {
		v.Numbers = append(v.Numbers, fact{"Minimum", shortest(s.Min, 6)})
	}
	v.Numbers = append(v.Numbers, fact{"Lower quartile", quartile(s.LowerQuartile)}, fact{"Median", quartile(s.Median)}, fact{"Upper quartile", quartile(s.UpperQuartile)})
	if enough {
		v.Numbers = append(v.Numbers, fact{"Maximum", shortest(s.Max, 6)})
	}
	if small > 0 && len(values) < leastForExtremes {
		v.note(fmt.Sprintf("Fewer than %d values: no minimum, no maximum and no histogram.", leastForExtremes))
		return
	}
	v.Histogram = newHistogram(values, v.Label, v.Unit, days, small)
}

// meanText is the mean with the standard deviation, where there is one.
func meanText(s stats.Summary, decimals int) string {
	text := printed.Fixed(s.Mean, decimals)
	if math.IsNaN(s.SD) {
		return text
	}
	return text + " (" + printed.Fixed(s.SD, decimals) + ")"
}

// shortest is x with as many of the given decimals as it needs.
func shortest(x float64, most int) string {
	for d := range most {
		text := strconv.FormatFloat(x, 'f', d, 64)
		if back, err := strconv.ParseFloat(text, 64); err == nil && back == x {
			return printed.Fixed(x, d)
		}
	}
	return printed.Fixed(x, most)
}

// months describes dates by the months of their quartiles.
func (v *variableView) months(values []float64, small int) {
	if len(values) < small {
		v.note(fmt.Sprintf("Fewer than %d values: they are not described.", small))
		return
	}
	s := stats.Describe(values)
	format := "2006-01"
	if small == 0 {
		format = "2006-01-02"
	}
	show := func(days float64) string { return time.Unix(int64(math.Floor(days))*86400, 0).UTC().Format(format) }
	if small == 0 {
		v.Numbers = append(v.Numbers, fact{"First", show(s.Min)})
	}
	v.Numbers = append(v.Numbers, fact{"Lower quartile", show(s.LowerQuartile)}, fact{"Median", show(s.Median)}, fact{"Upper quartile", show(s.UpperQuartile)})
	if small == 0 {
		v.Numbers = append(v.Numbers, fact{"Last", show(s.Max)})
		return
	}
	v.note("Of dates the month is shown, without the first and the last.")
}
