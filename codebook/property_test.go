package codebook

import (
	"math"
	"math/big"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"heelcohort/codebook/value"
)

// parsesTo wants a text to be a value of a field.
func parsesTo(t *rapid.T, f *Field, text string, want value.Value) {
	t.Helper()
	if got, fault := f.Parse(text); fault != nil || got != want {
		t.Fatalf("%s %q gives %+v and %+v, want %+v", f.Type, text, got, fault, want)
	}
}

// TestPrintedParsesBack wants every value that a field can hold to be read
// from what value.String prints of it, and from what the field's own messages
// say. The two differ for integers of seven digits and more, which
// value.String prints with an exponent that no integer has.
func TestPrintedParsesBack(t *testing.T) {
	number := mustField(t, `{name: a, type: number}`)
	integer := mustField(t, `{name: a, type: integer}`)
	text := mustField(t, `{name: a, type: string, missingValues: []}`)
	boolean := mustField(t, `{name: a, type: boolean}`)
	date := mustField(t, `{name: a, type: date}`)
	heel := mustField(t, `{name: a, type: string, categories: [left, right, "both heels"], missingValues: ["NM", "999"]}`)
	coded := mustField(t, `{name: a, type: integer, categories: [-1, 0, 10000000000]}`)
	first := time.Date(1, 1, 1, 0, 0, 0, 0, time.UTC).Unix() / 86400
	last := time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC).Unix() / 86400
	rapid.Check(t, func(t *rapid.T) {
		back := func(f *Field, v value.Value) {
			if v.Kind != value.Number || f.Type == TypeNumber || math.Abs(v.Number) < 1e6 {
				parsesTo(t, f, v.String(), v)
			}
			if !v.Missing {
				parsesTo(t, f, f.show(v), v)
			}
		}
		x := rapid.Float64().Draw(t, "number")
		if x == 0 {
			x = 0
		}
		back(number, value.Num(x))
		n := rapid.Int64Range(1-1<<53, 1<<53-1).Draw(t, "integer")
		back(integer, value.Num(float64(n)))
		// Blanks around a text, and how its lines end, are no part of it.
		inner := rapid.StringMatching(`[^\s\v\x{85}\x{200b}-\x{200f}\x{2060}\x{feff}\pZ]([^\r]*[^\s\v\x{85}\x{200b}-\x{200f}\x{2060}\x{feff}\pZ])?`).Draw(t, "text")
		back(text, value.Str(inner))
		back(boolean, value.Truth(rapid.Bool().Draw(t, "boolean")))
		back(date, value.Day(float64(rapid.Int64Range(first, last).Draw(t, "day"))))
		back(heel, value.Str(rapid.SampledFrom(heel.Words()).Draw(t, "heel")))
		back(heel, value.None(value.Text, rapid.SampledFrom([]string{"NM", "999"}).Draw(t, "code")))
		back(coded, value.Str(rapid.SampledFrom(coded.Words()).Draw(t, "coded")))
	})
}

// group puts a mark before every three digits, counted from the right.
func group(digits, mark string) string {
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + mark + digits[i:]
	}
	return digits
}

// TestNotations writes numbers and days in every notation by other means and
// wants them back.
func TestNotations(t *testing.T) {
	german := mustField(t, `{name: a, type: number, decimalChar: ",", groupChar: "."}`)
	thin := mustField(t, `{name: a, type: number, groupChar: "\u202f", bareNumber: false}`)
	dots := mustField(t, `{name: a, type: integer, groupChar: "."}`)
	layouts := map[string]*Field{
		"2.1.2006": mustField(t, `{name: a, type: date, format: "%d.%m.%Y"}`), "02.01.2006": mustField(t, `{name: a, type: date, format: "%d.%m.%Y"}`),
		"01/02/2006": mustField(t, `{name: a, type: date, format: "%m/%d/%Y"}`), "20060102": mustField(t, `{name: a, type: date, format: "%Y%m%d"}`),
		"January 2, 2006": mustField(t, `{name: a, type: date, format: "%B %d, %Y"}`), "02Jan2006": mustField(t, `{name: a, type: date, format: "%d%b%Y"}`),
	}
	rapid.Check(t, func(t *rapid.T) {
		whole := strconv.FormatUint(rapid.Uint64Range(0, 1<<53-1).Draw(t, "whole"), 10)
		fraction := rapid.StringMatching(`[0-9]{1,6}`).Draw(t, "fraction")
		sign := rapid.SampledFrom([]string{"", "-", "+"}).Draw(t, "sign")
		// The nearest number to the exact fraction, by exact arithmetic.
		exact, ok := new(big.Rat).SetString(sign + whole + "." + fraction)
		if !ok {
			t.Fatal("no fraction")
		}
		want, _ := exact.Float64()
		parsesTo(t, german, sign+group(whole, ".")+","+fraction, value.Num(want))
		parsesTo(t, german, sign+whole+","+fraction, value.Num(want))
		parsesTo(t, thin, "€ "+sign+group(whole, "\u202f")+"."+fraction+" kg", value.Num(want))
		exact.SetString(sign + whole)
		want, _ = exact.Float64()
		parsesTo(t, dots, sign+group(whole, "."), value.Num(want))

		days := rapid.IntRange(-700000, 2900000).Draw(t, "days")
		day := time.Unix(0, 0).UTC().AddDate(0, 0, days)
		for layout, f := range layouts {
			parsesTo(t, f, day.Format(layout), value.Day(float64(days)))
		}
	})
}

// TestDayCount compares every day of 12 centuries with a count of days by the
// calendar's rule.
func TestDayCount(t *testing.T) {
	f := mustField(t, `{name: a, type: date}`)
	n := -(270*365 + 65) // 1700-01-01: 270 years with 65 leap days before 1970
	for year := 1700; year < 2900; year++ {
		leap := year%4 == 0 && (year%100 != 0 || year%400 == 0)
		for month, length := range []int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31} {
			if month == 1 && leap {
				length++
			}
			for day := 1; day <= 31; day++ {
				text := strconv.Itoa(year) + "-" + two(month+1) + "-" + two(day)
				v, fault := f.Parse(text)
				if day > length {
					if fault == nil {
						t.Fatalf("%s is accepted", text)
					}
					continue
				}
				if fault != nil || v != value.Day(float64(n)) {
					t.Fatalf("%s gives %+v, %+v, want day %d", text, v, fault, n)
				}
				n++
			}
		}
	}
}

func two(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }

// TestLimitsHold draws limits and values and compares Parse with comparisons
// of exact fractions.
func TestLimitsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low, high := rapid.IntRange(-20, 20).Draw(t, "low"), rapid.IntRange(-20, 20).Draw(t, "high")
		openLow, openHigh := rapid.Bool().Draw(t, "open low"), rapid.Bool().Draw(t, "open high")
		typ := rapid.SampledFrom([]string{"number", "integer"}).Draw(t, "type")
		keys := [2]string{"minimum", "maximum"}
		if openLow {
			keys[0] = "exclusiveMinimum"
		}
		if openHigh {
			keys[1] = "exclusiveMaximum"
		}
		inside := func(x *big.Rat) bool {
			below, above := x.Cmp(big.NewRat(int64(low), 1)), x.Cmp(big.NewRat(int64(high), 1))
			return (below > 0 || below == 0 && !openLow) && (above < 0 || above == 0 && !openHigh)
		}
		step := int64(4)
		if typ == "integer" {
			step = 1
		}
		possible := false
		for k := -21 * step; k <= 21*step; k++ {
			possible = possible || inside(big.NewRat(k, step))
		}
		p, err := Decode("codebook.yaml", []byte(withFields("- {name: a, type: "+typ+", constraints: {"+
			keys[0]+": "+strconv.Itoa(low)+", "+keys[1]+": "+strconv.Itoa(high)+"}}")))
		if (err == nil) != possible {
			t.Fatalf("limits that can be met %v: %v", possible, err)
		}
		if err != nil {
			return
		}
		f := p.Resources[0].Schema.Fields[0]
		for k := -21 * step; k <= 21*step; k++ {
			x := big.NewRat(k, step)
			text := x.FloatString(2)
			if typ == "integer" {
				text = x.Num().String()
			}
			if v, fault := f.Parse(text); (fault == nil) != inside(x) || fault == nil && v.Number != float64(k)/float64(step) {
				t.Fatalf("%s gives %+v, %+v", text, v, fault)
			}
		}
	})
}

// TestParseAnything wants from every field, for any text, a finite value of
// the field's kind, a declared code, or a fault with its rule; and the same
// from the text with blanks around it.
func TestParseAnything(t *testing.T) {
	fields := everyField(t)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(
			rapid.String(), rapid.StringMatching(`[-+ ]?[0-9.,'e%]{0,12}[a-z ]{0,3}`), rapid.StringMatching(`[0-9]{1,4}[-./][0-9]{1,2}[-./][0-9]{1,4}`),
			rapid.SampledFrom([]string{"NM", "999", "left", "1", "true", "yes", "SM-0001"}),
		).Draw(t, "text")
		for _, f := range fields {
			if err := sound(f, text); err != "" {
				t.Fatalf("%s %s with %q: %s", f.Type, f.Name, text, err)
			}
		}
	})
}

// everyField is every field of the good codebooks.
func everyField(t testing.TB) []*Field {
	t.Helper()
	var fields []*Field
	for _, file := range []string{"testdata/good/every.yaml", "testdata/good/rules.json", "testdata/good/notation.yaml"} {
		for _, r := range decodeFile(t, file).Resources {
			fields = append(fields, r.Schema.Fields...)
		}
	}
	return fields
}

// sound says what is wrong with the answer to a text, or "".
func sound(f *Field, text string) string {
	v, fault := f.Parse(text)
	around, again := f.Parse("\u00a0" + text + " \t")
	switch {
	case fault != nil && v != value.Value{}:
		return "a value beside a fault"
	case fault != nil && (fault.Rule == "" || fault.Expected == ""):
		return "a fault without rule or expectation"
	case v != around || (fault == nil) != (again == nil):
		return "blanks count"
	case fault != nil:
		return ""
	case v.Kind != f.Kind():
		return "a value of another kind"
	case v.Missing:
		for _, m := range f.Codes() {
			if m.Value == v.Code {
				return ""
			}
		}
		return "a code that is not declared"
	case math.IsNaN(v.Number) || math.IsInf(v.Number, 0) || v.Number == 0 && math.Signbit(v.Number):
		return "a number that is not plain"
	case len(f.Words()) > 0 && !strings.Contains("\x00"+strings.Join(f.Words(), "\x00")+"\x00", "\x00"+v.Text+"\x00"):
		return "a word that is no category"
	}
	return ""
}
