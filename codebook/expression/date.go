package expression

import (
	"math"
	"time"

	"heelcohort/codebook/value"
)

var dateFunctions = []function{
	{Function{"date", `date("2024-05-01")`, "A date written as year-month-day."}, 1, 1, buildDate},
}

// The first and the last date, in days since 1970-01-01: the years 1 to 9999,
// which have four digits.
var (
	firstDay = days(time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC))
	lastDay  = days(time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC))
)

// days is a date's number of days since 1970-01-01.
func days(t time.Time) float64 { return float64(t.Unix() / 86400) }

func buildDate(c call) (term, error) {
	t := c.args[0]
	if t.kind != value.Text || t.literal == nil {
		return term{}, c.fault(t.at, "found %v in date, expected a text in quotes such as %s", t, c.signature())
	}
	when, err := time.Parse("2006-01-02", t.literal.Text)
	if err != nil || when.Year() < 1 {
		return term{}, c.fault(t.at, "found %q in date, expected a day of the calendar as year-month-day such as %s", t.literal.Text, c.signature())
	}
	n := days(when)
	v := value.Day(n)
	return term{kind: value.Date, literal: &v, number: func(Row) (float64, gap) { return n, gap{} }}, nil
}

// wholeDay makes a date of a number of days: missing where it is no whole
// number or lies outside the years 1 to 9999.
func wholeDay(f numberFunc) numberFunc {
	return func(row Row) (float64, gap) {
		x, g := f(row)
		switch {
		case g.missing:
			return 0, g
		case x != math.Trunc(x) || x < firstDay || x > lastDay:
			return 0, undefined
		}
		return x, gap{}
	}
}
