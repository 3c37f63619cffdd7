package codebook

import (
	"fmt"
	"strings"
	"time"

	"heelcohort/codebook/value"
)

// A layout is the pattern of a date, in parts: "%Y", "%m", "%d", "%b", "%B",
// those of a time of day "%H", "%M", "%S", or a literal text.
type layout []string

// isoDate is the default layout, in which month and day have two digits.
var isoDate = layout{"%Y", "-", "%m", "-", "%d"}

var months = []string{
	"January", "February", "March", "April", "May", "June",
	"July", "August", "September", "October", "November", "December",
}

// newLayout reads the format of a date, or of a date with a time of day. Year,
// month and day must each be there once; a year of two digits is refused, for
// no pattern says its century. A time of day has its hour, and a second only
// behind a minute.
func newLayout(format string, timed bool) (layout, error) {
	switch format {
	case "", "default":
		return isoDate, nil
	case "any":
		return nil, fmt.Errorf("format any guesses which number is the day; expected default or a pattern such as %%d.%%m.%%Y")
	}
	var out layout
	count := map[byte]int{}
	for i := 0; i < len(format); i++ {
		if format[i] != '%' {
			if n := len(out); n > 0 && out[n-1][0] != '%' {
				out[n-1] += format[i : i+1]
			} else if n > 0 && isDigit(format[i]) && (out[n-1] == "%d" || out[n-1] == "%m" || out[n-1] == "%H") {
				return nil, fmt.Errorf("format %q has a digit right behind %s, which cannot be told from it", format, out[n-1])
			} else {
				out = append(out, format[i:i+1])
			}
			continue
		}
		if i++; i == len(format) {
			return nil, fmt.Errorf("format %q ends in %%", format)
		}
		switch c := format[i]; c {
		case 'Y', 'm', 'd', 'b', 'B':
			out = append(out, "%"+string(c))
			if c == 'b' || c == 'B' {
				c = 'm'
			}
			count[c]++
		case 'H', 'M', 'S':
			if !timed {
				return nil, fmt.Errorf("format %q has %%%c, expected %%Y, %%m, %%d, %%b or %%B; a date with a time of day is of type datetime", format, c)
			}
			out = append(out, "%"+string(c))
			count[c]++
		case 'y':
			return nil, fmt.Errorf("%%y does not say the century; expected %%Y")
		default:
			return nil, fmt.Errorf("format %q has %%%c, expected %%Y, %%m, %%d, %%b or %%B", format, c)
		}
	}
	for _, c := range []byte("Ymd") {
		if count[c] != 1 {
			return nil, fmt.Errorf("format %q has %%%c %d times, expected once", format, c, count[c])
		}
	}
	if !timed {
		return out, nil
	}
	for _, c := range []byte("HMS") {
		if count[c] > 1 {
			return nil, fmt.Errorf("format %q has %%%c %d times, expected once", format, c, count[c])
		}
	}
	switch {
	case count['H'] == 0:
		return nil, fmt.Errorf("format %q has no %%H; without a time of day the type is date", format)
	case count['S'] > count['M']:
		return nil, fmt.Errorf("format %q has %%S and no %%M", format)
	}
	return out, nil
}

// date reads a date as days since 1970-01-01. Month, day and hour have one or
// two digits in a pattern, always two where a digit may follow them and in the
// default.
func (l layout) date(text string) (value.Value, bool) {
	var year, month, day, hour, minute, second int
	for i, part := range l {
		ok := true
		switch part {
		case "%Y":
			year, text, ok = digits(text, 4, 4)
		case "%m", "%d", "%H":
			least := 1
			if &l[0] == &isoDate[0] || i+1 < len(l) && l[i+1][0] == '%' || i > 0 && l[i-1][0] == '%' {
				least = 2
			}
			n := 0
			n, text, ok = digits(text, least, 2)
			switch part {
			case "%m":
				month = n
			case "%d":
				day = n
			default:
				hour = n
			}
		case "%M":
			minute, text, ok = digits(text, 2, 2)
		case "%S":
			second, text, ok = digits(text, 2, 2)
		case "%b", "%B":
			month, text, ok = monthName(text, part == "%b")
		default:
			text, ok = strings.CutPrefix(text, part)
		}
		if !ok {
			return value.Value{}, false
		}
	}
	if text != "" || len(l) == 0 || hour > 23 || minute > 59 || second > 59 {
		return value.Value{}, false
	}
	t := time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
	if t.Year() != year || int(t.Month()) != month || t.Day() != day || year == 0 {
		return value.Value{}, false
	}
	return value.Day(float64(t.Unix() / 86400)), true
}

// digits reads a number of least to most digits.
func digits(text string, least, most int) (int, string, bool) {
	n, i := 0, 0
	for i < len(text) && i < most && isDigit(text[i]) {
		n = 10*n + int(text[i]-'0')
		i++
	}
	return n, text[i:], i >= least
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// monthName reads a month's English name, or its first three letters.
func monthName(text string, short bool) (int, string, bool) {
	for i, name := range months {
		if short {
			name = name[:3]
		}
		if len(text) >= len(name) && strings.EqualFold(text[:len(name)], name) {
			return i + 1, text[len(name):], true
		}
	}
	return 0, text, false
}

// show writes a day in the layout.
func (l layout) show(days float64) string {
	t := time.Unix(int64(days)*86400, 0).UTC()
	var b strings.Builder
	for _, part := range l {
		switch part {
		case "%Y":
			fmt.Fprintf(&b, "%04d", t.Year())
		case "%m":
			fmt.Fprintf(&b, "%02d", int(t.Month()))
		case "%d":
			fmt.Fprintf(&b, "%02d", t.Day())
		case "%b":
			b.WriteString(t.Month().String()[:3])
		case "%B":
			b.WriteString(t.Month().String())
		case "%H", "%M", "%S":
			b.WriteString("00")
		default:
			b.WriteString(part)
		}
	}
	return b.String()
}
