package dataset

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Serial numbers that a sheet can show as a date. In the 1900 system day 60 is
// 29 February 1900, which never was, so that programs disagree about every day
// before it; from 61 on they agree.
const (
	firstSerial1900 = 61
	lastSerial1900  = 2958465 // 9999-12-31
	lastSerial1904  = 2957003 // 9999-12-31
)

// serialDate turns a sheet's day number into a date written as 2006-01-02. The
// second result is what was expected where it cannot.
func serialDate(text string, date1904 bool) (date, expected string) {
	x, err := strconv.ParseFloat(text, 64)
	first, last := float64(firstSerial1900), float64(lastSerial1900)
	if date1904 {
		first, last = 0, lastSerial1904
	}
	switch {
	case err != nil || math.IsNaN(x) || math.IsInf(x, 0):
		return "", "a date"
	case x != math.Trunc(x):
		return "", "a date without a time of day"
	case x < first && !date1904:
		return "", "a date on or after 1900-03-01; earlier days of a sheet are ambiguous"
	case x < first || x > last:
		return "", fmt.Sprintf("a date; day numbers run from %d to %d", int(first), int(last))
	}
	t, err := excelize.ExcelDateToTime(x, date1904)
	if err != nil {
		return "", "a date"
	}
	return t.Format("2006-01-02"), ""
}

// isoDate strips midnight from a date that a sheet stored as text. A time of
// day stays, and is then no legal date.
func isoDate(text string) string {
	date, clock, found := strings.Cut(text, "T")
	if !found {
		return text
	}
	clock = strings.TrimSuffix(clock, "Z")
	if strings.Trim(clock, "0:.") == "" {
		return date
	}
	return text
}
