package identifier

import "slices"

// Limits within which days before others are dates of birth of children.
const (
	birthYears  = 20  // greatest distance to the next later column, in years
	birthLeast  = 2   // least distance, in years
	birthApart  = 365 // days between the last of them and the first of the others
	birthSpread = 365 // days over which they spread, at least
	birthCells  = 5
)

// BirthDates reports which of the columns of dates are dates of birth because
// they lie before all others: their days spread over a year or more, and end a
// year or more before the earliest of the columns that are, in the middle, 2
// to 20 years later begins. Five in a hundred days at each end do not count,
// for they may be slips. Columns without other dates to compare with cannot be
// told.
func BirthDates(columns []*Column) []bool {
	type span struct{ low, middle, high int }
	spans := make([]span, len(columns))
	for i, c := range columns {
		if len(c.days) < birthCells {
			continue
		}
		days := slices.Clone(c.days)
		slices.Sort(days)
		n := len(days)
		spans[i] = span{int(days[n/20]), int(days[n/2]), int(days[n-1-n/20])}
	}
	found := make([]bool, len(columns))
	for i, c := range columns {
		if len(c.days) < birthCells || spans[i].high-spans[i].low < birthSpread {
			continue
		}
		next, earliest := 0, 0
		for j := range columns {
			if len(columns[j].days) < birthCells || spans[j].middle-spans[i].middle < birthLeast*365 {
				continue
			}
			if next == 0 || spans[j].middle < next {
				next = spans[j].middle
			}
			if earliest == 0 || spans[j].low < earliest {
				earliest = spans[j].low
			}
		}
		found[i] = next != 0 && next-spans[i].middle <= birthYears*366 && earliest-spans[i].high >= birthApart
	}
	return found
}

// HoldBirthDates makes the column one of dates of birth.
func (c *Column) HoldBirthDates() {
	h := &hits{count: c.dated, rows: c.first[CalendarDate]}
	c.hits[BirthDate] = h
	c.titled[BirthDate] = true
}
