package stats

import (
	"fmt"
	"math"
	"math/bits"
)

// A DayCount is a length of time in days, held exactly: it is a whole number of
// parts of 2⁻⁶⁴ of a day. Study days and birthdays as floating-point numbers
// are such numbers already (what is closer than 2⁻¹² of a day to day 0 may lose
// digits below 2⁻⁶⁴), so that lengths add up, and cancel, without any rounding.
// The zero value is no time.
type DayCount struct {
	hi int64 // whole days, rounded down
	lo uint64
}

// dayCount is a day as an exact number.
func dayCount(day float64) DayCount {
	if !(math.Abs(day) < 1<<52) {
		panic(fmt.Sprintf("stats: day %v, expected a finite study day", day))
	}
	whole, part := math.Modf(math.Abs(day))
	d := DayCount{int64(whole), uint64(math.Ldexp(part, 64))}
	if day < 0 {
		return DayCount{}.Minus(d)
	}
	return d
}

// Plus is d + e.
func (d DayCount) Plus(e DayCount) DayCount {
	lo, carry := bits.Add64(d.lo, e.lo, 0)
	return DayCount{d.hi + e.hi + int64(carry), lo}
}

// Minus is d − e.
func (d DayCount) Minus(e DayCount) DayCount {
	lo, borrow := bits.Sub64(d.lo, e.lo, 0)
	return DayCount{d.hi - e.hi - int64(borrow), lo}
}

// Days is the nearest number of days.
func (d DayCount) Days() float64 {
	if d.hi < 0 {
		return -DayCount{}.Minus(d).Days()
	}
	return float64(d.hi) + math.Ldexp(float64(d.lo), -64)
}

// countDays is the number of days that at least one of the intervals covers.
func countDays(intervals []Interval) DayCount {
	var sum DayCount
	for _, iv := range Union(intervals) {
		sum = sum.Plus(dayCount(iv.To).Minus(dayCount(iv.From)))
	}
	return sum
}
