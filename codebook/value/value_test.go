package value

import (
	"math"
	"strconv"
	"testing"
)

// The forms are written by hand; 2024-05-01 is 19,844 days after 1970-01-01
// (54 years of 365 days, 13 leap days, 121 days of 2024).
func TestString(t *testing.T) {
	for _, c := range []struct {
		value Value
		want  string
	}{
		{Num(0), "0"},
		{Num(-12.5), "-12.5"},
		{Num(0.1), "0.1"},
		{Num(1000000), "1000000"},
		{Num(1e300), "1e+300"},
		{Str("left"), "left"},
		{Truth(true), "true"},
		{Truth(false), "false"},
		{Day(54*365 + 13 + 121), "2024-05-01"},
		{Day(-1), "1969-12-31"},
		{None(Number, "NM"), "NM"},
		{None(Text, ""), ""},
	} {
		if got := c.value.String(); got != c.want {
			t.Errorf("%+v: %q, want %q", c.value, got, c.want)
		}
	}
}

// A number's text reads back as the number.
func TestStringReadsBack(t *testing.T) {
	for _, x := range []float64{0.1 + 0.2, 1.0 / 3, 123456789, 9007199254740991, -1e-300, math.MaxFloat64} {
		if back, err := strconv.ParseFloat(Num(x).String(), 64); err != nil || back != x {
			t.Errorf("%v reads back as %v, %v", x, back, err)
		}
	}
}

// What is not finite is missing, never a number.
func TestNumNotFinite(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if v := Num(x); !v.Missing || v.Code != CodeUndefined {
			t.Errorf("%v: %+v, want missing as undefined", x, v)
		}
	}
}

func TestKind(t *testing.T) {
	for kind, want := range map[Kind]string{Number: "number", Text: "text", Bool: "boolean", Date: "date", Unknown: "unknown"} {
		if kind.String() != want {
			t.Errorf("%d: %q, want %q", kind, kind, want)
		}
	}
}
