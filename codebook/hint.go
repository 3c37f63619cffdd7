package codebook

import (
	"fmt"
	"regexp"
	"strings"
)

// hint is what the codebook could declare so that a text of another notation
// were read, after a semicolon, or "".
func (f *Field) hint(text string) string {
	var say string
	if m := wholeFraction.FindStringSubmatch(text); m != nil && f.Type != TypeNumber && !f.isDay() {
		if _, fault := f.parse(m[1]); fault == nil {
			return "; written without decimals it is " + m[1]
		}
	}
	switch {
	case len(f.words) > 0:
	case f.Type == TypeNumber || f.Type == TypeInteger:
		say = f.numberHint(text)
	case f.isDay():
		say = f.dayHint(text)
	}
	if say == "" {
		return ""
	}
	return "; " + say
}

// notations are the marks of numbers that are met, the plain ones first.
var notations = []struct{ decimal, group string }{
	{",", ""}, {".", ","}, {",", "."}, {".", " "}, {",", " "}, {".", "'"}, {",", "'"},
}

var wholeFraction = regexp.MustCompile(`^([-+]?[0-9]+)[.,]0*$`)

// numberHint names the properties by which a text were a number.
func (f *Field) numberHint(text string) string {
	if strings.HasSuffix(text, "%") && f.Percent == "" {
		return "percent signs are read where heelcohort.percent says stored (45 % is 0.45) or shown (45 % is 45)"
	}
	var ways []string
	for _, n := range notations {
		if f.DecimalChar != "" && f.DecimalChar != n.decimal || f.GroupChar != "" && f.GroupChar != n.group ||
			n.decimal == "," && !strings.Contains(text, ",") || f.Type == TypeInteger && n.decimal == "," {
			continue
		}
		other := &Field{Type: f.Type, DecimalChar: n.decimal, GroupChar: n.group}
		if n.group != "" && !strings.ContainsAny(text, n.group+alikeMarks(n.group)) {
			continue
		}
		if _, ok := other.number(text); !ok {
			continue
		}
		var keys []string
		if n.decimal == "," && f.DecimalChar == "" {
			keys = append(keys, `decimalChar ","`)
		}
		if n.group != "" && f.GroupChar == "" {
			keys = append(keys, fmt.Sprintf("groupChar %q", n.group))
		}
		if len(keys) > 0 {
			ways = append(ways, strings.Join(keys, " with "))
		}
	}
	if len(ways) > 0 {
		return "to read such marks the codebook declares " + strings.Join(ways, ", or ")
	}
	if !f.Loose {
		other := *f
		other.Loose = true
		if _, ok := other.number(text); ok {
			return "a unit beside the number is read where bareNumber is false"
		}
	}
	return ""
}

// dayFormats are the formats of dates that are met.
var dayFormats = []string{
	"%Y-%m-%d", "%d.%m.%Y", "%d/%m/%Y", "%m/%d/%Y", "%Y/%m/%d", "%d-%m-%Y", "%m-%d-%Y", "%Y.%m.%d",
	"%Y%m%d", "%d%m%Y", "%m%d%Y", "%d %b %Y", "%d %B %Y", "%d-%b-%Y", "%b %d, %Y", "%B %d, %Y",
}

var dayLayouts = func() []layout {
	out := make([]layout, len(dayFormats))
	for i, format := range dayFormats {
		var err error
		if out[i], err = newLayout(format, false); err != nil {
			panic("codebook: " + err.Error())
		}
	}
	return out
}()

var (
	shortYear  = regexp.MustCompile(`^[0-9]{1,2}([./-])[0-9]{1,2}[./-][0-9]{2}$`)
	dayNumber  = regexp.MustCompile(`^[2-6][0-9]{4}(\.[0-9]+)?$`) // 1954 to 2064
	zoneBehind = regexp.MustCompile(`^(.*:[0-9.,]+) ?[-+][0-9]{2}:?[0-9]{2}$`)
)

// dayHint says how a day is written that is not written as declared.
func (f *Field) dayHint(text string) string {
	if m := zoneBehind.FindStringSubmatch(text); m != nil {
		if _, _, ok := cutClock(m[1]); ok {
			return "a time of day stands without a zone, or with Z"
		}
	}
	date, c, timed := cutClock(text)
	if timed && f.Type == TypeDate {
		if _, ok := f.layout.date(date); ok {
			return fmt.Sprintf("the time of day %s has no place in a date; the type datetime allows it", c.text)
		}
	}
	if shortYear.MatchString(date) {
		return "a year of two digits does not say its century"
	}
	if dayNumber.MatchString(text) {
		return text + " looks like the day number of a spreadsheet; save the column shown as dates"
	}
	declared := f.Format
	if f.isDefault() {
		declared = "default (%Y-%m-%d)"
		if f.Type == TypeDatetime {
			declared = "default (%Y-%m-%dT%H:%M:%S)"
		}
	}
	var written []string
	for i, l := range dayLayouts {
		if _, ok := l.date(date); ok && dayFormats[i] != f.Format {
			format := dayFormats[i]
			if timed && f.Type == TypeDatetime {
				format += " %H:%M"
				if c.second != "" {
					format += ":%S"
				}
			}
			written = append(written, format)
		}
	}
	if len(written) == 0 {
		return ""
	}
	return fmt.Sprintf("written as %s where the codebook declares %s", strings.Join(written, " or "), declared)
}
