package dataset

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"heelcohort/codebook"
)

// Serial numbers that a sheet can show as a date. In the 1900 system day 60 is
// 29 February 1900, which never was, so that programs disagree about every day
// before it; from 61 on they agree.
const (
	firstSerial1900 = 61
	lastSerial1900  = 2958465 // 9999-12-31
	lastSerial1904  = 2957003 // 9999-12-31

	dayZero1900 = -25569 // the day of serial 0 from serial 61 on, in days since 1970-01-01
	dayZero1904 = -24107

	// lastPlainSerial is the last number that counts days though the sheet
	// does not show a date; it is a day of 2173. A longer number may as well be
	// the digits of a date.
	lastPlainSerial = 99_999
)

const dayMilliseconds = 24 * 60 * 60 * 1000

// serialDay turns a sheet's day number into days since 1970-01-01. A fraction
// is the time of day, to the millisecond, and is left aside where timed. The
// second result is what was expected where the number is no day.
func serialDay(text string, date1904, timed bool) (days float64, expected string) {
	x, err := strconv.ParseFloat(text, 64)
	first, last, zero := float64(firstSerial1900), float64(lastSerial1900), float64(dayZero1900)
	if date1904 {
		first, last, zero = 0, lastSerial1904, dayZero1904
	}
	if err != nil || math.IsNaN(x) || math.Abs(x) > 1e9 {
		return 0, "a date"
	}
	clock := math.Round(x * dayMilliseconds)
	day := math.Floor(clock / dayMilliseconds)
	switch {
	case clock != day*dayMilliseconds && !timed:
		return 0, "a date without a time of day; the type datetime allows it"
	case day < first && !date1904:
		return 0, "a date on or after 1900-03-01; earlier days of a sheet are ambiguous"
	case day < first || day > last:
		return 0, fmt.Sprintf("a date; day numbers run from %d to %d", int(first), int(last))
	}
	return zero + day, ""
}

// numberDay is the text of a day that a workbook stores as a number, as its
// field writes it. A number that is shown as a date counts days. Any other is
// read by the field's format where that is digits alone; and counts days where
// it is short enough to be nothing else.
func numberDay(f *codebook.Field, cell rawCell, date1904 bool) (string, *codebook.Fault) {
	whole := strings.Trim(cell.text, "0123456789") == ""
	if width := f.DigitWidth(); width > 0 && cell.format != dateFormat {
		switch {
		case whole && len(cell.text) == width:
			return cell.text, nil
		case whole && len(cell.text) == width-1 && cell.format == paddedFormat:
			return "0" + cell.text, nil
		case whole && len(cell.text) == width-1:
			return "", &codebook.Fault{Rule: RuleDate, Expected: f.Expected() + "; a zero before the number may be lost"}
		}
		return "", &codebook.Fault{Rule: RuleDate, Expected: f.Expected() + "; a number that is not shown as a date is read by this format"}
	}
	if whole && len(cell.text) >= 8 {
		return cell.text, nil // too long for a day number; the field knows what to declare
	}
	days, expected := serialDay(cell.text, date1904, f.Type == codebook.TypeDatetime)
	if x, _ := strconv.ParseFloat(cell.text, 64); expected == "" && cell.format != dateFormat && x > lastPlainSerial {
		expected = fmt.Sprintf("%s; a number above %d may be the digits of a date unless the sheet shows it as a date", f.Expected(), lastPlainSerial)
	}
	if expected != "" {
		return "", &codebook.Fault{Rule: RuleDate, Expected: expected}
	}
	return f.ShowDay(days), nil
}

// isoDay is the day of a date that a sheet stored as text, in days since
// 1970-01-01. A time of day other than midnight makes it no date unless timed.
func isoDay(text string, timed bool) (days float64, ok bool) {
	text = strings.TrimSuffix(text, "Z")
	for _, layout := range []string{"2006-01-02", "2006-01-02T15:04:05", "2006-01-02T15:04"} {
		t, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		day := t.Truncate(24 * time.Hour)
		return float64(day.Unix() / 86400), timed || day.Equal(t)
	}
	return 0, false
}
