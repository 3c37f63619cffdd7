package codebook

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"heelcohort/codebook/value"
)

// broken is the name of the first rule that v breaks, or "".
func (c *Constraints) broken(f *Field, v value.Value) string {
	switch v.Kind {
	case value.Number, value.Date:
		switch x := v.Number; {
		case c.Minimum != nil && x < c.Minimum.Number, c.ExclusiveMinimum != nil && x <= c.ExclusiveMinimum.Number:
			return RuleMinimum
		case c.Maximum != nil && x > c.Maximum.Number, c.ExclusiveMaximum != nil && x >= c.ExclusiveMaximum.Number:
			return RuleMaximum
		}
	case value.Text:
		n := utf8.RuneCountInString(v.Text)
		switch {
		case c.MinLength != nil && n < *c.MinLength, c.MaxLength != nil && n > *c.MaxLength:
			return RuleLength
		case f.pattern != nil && !f.pattern.MatchString(v.Text):
			return RulePattern
		}
	}
	if c.Enum == nil {
		return ""
	}
	for _, e := range c.Enum {
		if e == v {
			return ""
		}
	}
	return RuleEnum
}

// empty reports whether no amount is within the limits. Whole amounts
// (integers and days) leave no room between 1 and 2.
func (c *Constraints) empty(whole bool) bool {
	for _, low := range []*value.Value{c.Minimum, c.ExclusiveMinimum} {
		for _, high := range []*value.Value{c.Maximum, c.ExclusiveMaximum} {
			if low == nil || high == nil {
				continue
			}
			open := 0 // limits that are no values themselves
			if low == c.ExclusiveMinimum {
				open++
			}
			if high == c.ExclusiveMaximum {
				open++
			}
			room := high.Number - low.Number
			if room < 0 || open > 0 && room == 0 || whole && room < float64(open) {
				return true
			}
		}
	}
	return false
}

// Words that Expected lists before it stops.
const mostWords = 12

// Expected says which values the field takes: "a number of at least 95 and at
// most 200 cm", "one of left, right", "a date such as 2024-03-31".
func (f *Field) Expected() string {
	c := &f.Constraints
	if len(f.words) > 0 {
		return oneOf(f.words)
	}
	if c.Enum != nil {
		words := make([]string, len(c.Enum))
		for i, v := range c.Enum {
			words[i] = f.show(v)
		}
		return oneOf(words)
	}
	switch f.Type {
	case TypeInteger, TypeNumber:
		noun := "a number"
		if f.Type == TypeInteger {
			noun = "an integer"
		}
		if f.DecimalChar != "" && f.DecimalChar != "." {
			noun += fmt.Sprintf(" (decimal mark %q)", f.DecimalChar)
		}
		limits := c.limits(f, "at least", "above", "at most", "below")
		switch {
		case limits == "" && f.Unit == "":
			return noun
		case limits == "":
			return noun + " in " + f.Unit
		case f.Unit == "":
			return noun + " of " + limits
		}
		return noun + " of " + limits + " " + f.Unit
	case TypeList:
		return f.expectedList()
	case TypeBoolean:
		trues, falses := f.truths()
		return oneOf(append(append([]string(nil), trues...), falses...))
	case TypeDate, TypeDatetime:
		noun := "a date such as " + f.layout.show(19813) // 2024-03-31
		if f.Type == TypeDatetime {
			noun = "a date and time such as " + f.layout.show(19813)
			if f.isDefault() {
				noun += "T13:45:00"
			}
		}
		if limits := c.limits(f, "not before", "after", "not after", "before"); limits != "" {
			noun += ", " + limits
		}
		return noun
	}
	return c.text()
}

// limits joins the limits of a number or a date.
func (c *Constraints) limits(f *Field, least, above, most, below string) string {
	var parts []string
	for _, p := range []struct {
		word  string
		limit *value.Value
	}{{least, c.Minimum}, {above, c.ExclusiveMinimum}, {most, c.Maximum}, {below, c.ExclusiveMaximum}} {
		if p.limit != nil {
			parts = append(parts, p.word+" "+f.show(*p.limit))
		}
	}
	return strings.Join(parts, " and ")
}

// text says what a text must be like.
func (c *Constraints) text() string {
	out := "a text"
	switch {
	case c.MinLength != nil && c.MaxLength != nil && *c.MinLength == *c.MaxLength:
		out += fmt.Sprintf(" of %d characters", *c.MinLength)
	case c.MinLength != nil && c.MaxLength != nil:
		out += fmt.Sprintf(" of %d to %d characters", *c.MinLength, *c.MaxLength)
	case c.MinLength != nil:
		out += fmt.Sprintf(" of at least %d characters", *c.MinLength)
	case c.MaxLength != nil:
		out += fmt.Sprintf(" of at most %d characters", *c.MaxLength)
	}
	if c.Pattern != "" {
		out += " that matches " + c.Pattern
	}
	return out
}

// show writes a value as it stands in a cell.
func (f *Field) show(v value.Value) string {
	switch {
	case v.Kind == value.Date:
		return f.layout.show(v.Number)
	case v.Kind == value.Number && v.Number == math.Trunc(v.Number) && math.Abs(v.Number) < maxExact:
		return strconv.FormatFloat(v.Number, 'f', -1, 64) // 1000000 and not 1e+06
	}
	return v.String()
}

func oneOf(words []string) string {
	if len(words) > mostWords {
		return fmt.Sprintf("one of %s, … (%d in all)", strings.Join(words[:mostWords], ", "), len(words))
	}
	return "one of " + strings.Join(words, ", ")
}
