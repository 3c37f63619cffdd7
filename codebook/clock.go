package codebook

import (
	"regexp"
	"strings"

	"heelcohort/codebook/value"
)

// isDay reports whether the field's values are days.
func (f *Field) isDay() bool { return f.Type == TypeDate || f.Type == TypeDatetime }

// isDefault reports whether a day is written as ISO 8601 has it.
func (f *Field) isDefault() bool { return f.Format == "" || f.Format == "default" }

// day reads a date, or a date with a time of day that is left aside.
//
// Behind a date there may be midnight, which programs write that know no date
// without a time. In the default format of a datetime a time of day may be
// there or not, to the minute, the second or a fraction of it, with the letter
// Z or without; the day is the one that is written.
func (f *Field) day(text string) (value.Value, bool) {
	if f.Type == TypeDatetime && !f.isDefault() {
		return f.layout.date(text)
	}
	if v, ok := f.layout.date(text); ok {
		return v, true
	}
	date, c, ok := cutClock(text)
	if !ok || f.Type == TypeDate && !c.midnight() || f.Type == TypeDatetime && !c.iso() {
		return value.Value{}, false
	}
	return f.layout.date(date)
}

// clock is the time of day that a text of the codebook has though the values
// are days, or "".
func (f *Field) clock(text string) string {
	if f.Type != TypeDatetime {
		return ""
	}
	if _, c, ok := cutClock(Bare(text)); ok && !c.midnight() {
		return c.text
	}
	return ""
}

// A clock is a time of day as it is written.
type clock struct {
	text                         string
	hour, minute, second, behind string // behind the second's point
	half                         string // am or pm
}

var clockBehind = regexp.MustCompile(`^(.*[^T\s])(?:T|\s+)(([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:[.,]([0-9]+))?)?(?:\s?([AaPp][Mm]))?Z?)$`)

// cutClock cuts the time of day off the end of a text.
func cutClock(text string) (before string, c clock, ok bool) {
	if !strings.Contains(text, ":") {
		return text, clock{}, false
	}
	m := clockBehind.FindStringSubmatch(text)
	if m == nil {
		return text, clock{}, false
	}
	return m[1], clock{m[2], m[3], m[4], m[5], m[6], strings.ToLower(m[7])}, true
}

// midnight reports whether the day begins.
func (c clock) midnight() bool {
	hour := strings.Trim(c.hour, "0") == "" && c.half != "pm" || c.hour == "12" && c.half == "am"
	return hour && strings.Trim(c.minute+c.second+c.behind, "0") == ""
}

// iso reports whether the time is one of ISO 8601, from 00:00 to 23:59:59.
func (c clock) iso() bool {
	return c.half == "" && len(c.hour) == 2 && c.hour <= "23" && c.minute <= "59" && c.second <= "59"
}

// DigitWidth is the number of digits of a date whose format is digits alone,
// such as %Y%m%d; 0 for every other field.
func (f *Field) DigitWidth() int {
	if !f.isDay() || f.isDefault() {
		return 0
	}
	n := 0
	for _, part := range f.layout {
		switch part {
		case "%Y":
			n += 4
		case "%m", "%d", "%H", "%M", "%S":
			n += 2
		default:
			return 0
		}
	}
	return n
}

// ShowDay writes a day, counted from 1970-01-01, as it stands in a cell of the
// field; that of a datetime begins.
func (f *Field) ShowDay(days float64) string { return f.layout.show(days) }
