package codebook

import (
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"heelcohort/codebook/value"
)

// march31 is 2024-03-31: 54 years with 13 leap days to 2024-01-01, then 31 and
// 29 days and 30 more.
const march31 = 54*365 + 13 + 31 + 29 + 30

func days(pairs ...any) []cell {
	var out []cell
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, good(pairs[i].(string), value.Day(float64(pairs[i+1].(int)))))
	}
	return out
}

func TestParseDatetime(t *testing.T) {
	checkCells(t, `{name: a, type: datetime}`,
		days("2024-03-31T13:45:00", march31, "2024-03-31T23:59:59.999", march31, "2024-03-31T00:00:00Z", march31, "2024-03-31T23:30Z", march31,
			"2024-03-31 13:45", march31, "2024-03-31 13:45:00,5", march31, "2024-03-31", march31, " '2024-03-31T13:45:00 ", march31, "2024-04-01T00:00:00", march31+1),
		bad(RuleType, "2024-03-31T24:00:00", "2024-03-31T12:60:00", "2024-03-31T12:00:60", "2024-03-31T1:45", "2024-03-31T13", "2024-03-31T13:45:00+02:00", "2024-03-31T13:45-0500",
			"2024-03-31 1:45 PM", "2024-03-31 01:45 PM", "2024-3-31T13:45", "31.03.2024 13:45", "2024-03-31t13:45", "2024-02-30T12:00", "13:45", "T13:45", "2024-03-31 13:45:00.", "20240331T134500", "45382.5"),
		[]cell{good("", none(value.Date, ""))})
	checkCells(t, `{name: a, type: datetime, format: "%d.%m.%Y %H:%M"}`,
		days("31.03.2024 13:45", march31, "31.3.2024 9:05", march31, "1.4.2024 0:00", march31+1),
		bad(RuleType, "31.03.2024 24:00", "31.03.2024 13:60", "31.03.2024 13:5", "31.03.2024", "31.03.2024 13:45:00", "2024-03-31T13:45", "31.03.2024 13:45Z"))
	checkCells(t, `{name: a, type: datetime, format: "%Y%m%d%H%M%S"}`, days("20240331134500", march31), bad(RuleType, "20240331", "2024033113450", "20240331246000"))
	checkCells(t, `{name: a, type: datetime, missingValues: ["1900-01-01T00:00:00"], constraints: {minimum: "2024-03-31T00:00:00", exclusiveMaximum: "2024-04-01"}}`,
		days("2024-03-31T00:00:00", march31, "2024-03-31T23:59", march31),
		bad(RuleMinimum, "2024-03-30T23:59:59"), bad(RuleMaximum, "2024-04-01T00:00"),
		[]cell{good("1900-01-01T00:00:00", none(value.Date, "1900-01-01T00:00:00"))},
		bad(RuleType, "1900-01-01", "1900-01-01T12:00")) // the code, written in another way
}

func TestParsePercent(t *testing.T) {
	checkCells(t, `{name: a, type: number, heelcohort: {percent: stored}}`,
		nums("45%", 0.45, "45 %", 0.45, "7%", 0.07, "-12.5\u00a0%", -0.125, "−1%", -0.01, "0.45", 0.45, "45", 45, "1e2%", 1, "0%", 0, "29%", 0.29, "57%", 0.57),
		bad(RuleType, "%", "45%%", "%45", "45 % x", "45％", "45‰"))
	checkCells(t, `{name: a, type: number, heelcohort: {percent: shown}}`, nums("45%", 45, "45", 45, "0.45", 0.45, "12.5 %", 12.5))
	checkCells(t, `{name: a, type: number, decimalChar: ",", heelcohort: {percent: stored}}`, nums("12,5 %", 0.125), bad(RuleType, "12.5 %"))
	checkCells(t, `{name: a, type: number, groupChar: ",", heelcohort: {percent: stored}}`, nums("1,250%", 12.5))
	checkCells(t, `{name: a, type: number, bareNumber: false, heelcohort: {percent: shown}}`, nums("about 45 %", 45))
	checkCells(t, `{name: a, type: integer, heelcohort: {percent: shown}}`, nums("45%", 45), bad(RuleType, "45.5%"))
	checkCells(t, `{name: a, type: integer, heelcohort: {percent: stored}}`, nums("100%", 1, "-200 %", -2), bad(RuleType, "45%"))
	checkCells(t, `{name: a, type: number}`, bad(RuleType, "45%"))
}

func TestShiftPoint(t *testing.T) {
	for _, c := range []struct {
		text   string
		places int
		want   string
	}{
		{"0.07", 2, "7"},
		{"0.45", 2, "45"},
		{"1", 2, "100"},
		{"-0.125", 2, "-12.5"},
		{"1e-07", 2, "0.00001"},
		{"5.5e-07", 2, "0.000055"},
		{".5", 2, "50"},
		{"0.29", 2, "29"},
		{"0", 2, "0"},
		{"45", -2, "0.45"},
		{"5", -2, "0.05"},
		{"+12.50", -2, "+0.125"},
		{"007", -2, "0.07"},
		{"5.", 1, "50"},
		{"1e3", 0, "1000"},
		{"1e999", 2, "1e1001"},
		{"1.5e-999", 2, "1.5e-997"},
		{"1e99999999999999999999", 2, "1e99999999999999999999"},
	} {
		if got, ok := ShiftPoint(c.text, c.places); !ok || got != c.want {
			t.Errorf("%s by %d gives %q, %v, want %q", c.text, c.places, got, ok, c.want)
		}
	}
	for _, text := range []string{"", ".", "-", "x", "1.2.3", "1e", "1,5", "NaN", " 1"} {
		if got, ok := ShiftPoint(text, 2); ok {
			t.Errorf("%q gives %q", text, got)
		}
	}
}

// TestShiftPointExact compares moved points with exact fractions.
func TestShiftPointExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[-+]?([0-9]{1,12}(\.[0-9]{0,12})?|\.[0-9]{1,12})([eE][-+]?[0-9]{1,2})?`).Draw(t, "number")
		places := rapid.IntRange(-5, 5).Draw(t, "places")
		want, ok := new(big.Rat).SetString(text)
		if !ok {
			t.Skip("no fraction")
		}
		power := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(places, -places))), nil))
		if places < 0 {
			power.Inv(power)
		}
		want.Mul(want, power)
		got, ok := ShiftPoint(text, places)
		if !ok {
			t.Fatalf("%s is refused", text)
		}
		if x, ok := new(big.Rat).SetString(got); !ok || x.Cmp(want) != 0 {
			t.Fatalf("%s by %d gives %s, want %s", text, places, got, want.RatString())
		}
	})
}

// TestMarksAlike groups numbers with any mark of a family and wants the value
// of the plain digits from a field that declares another of it.
func TestMarksAlike(t *testing.T) {
	families := [][]string{{" ", "\u00a0", "\u2009", "\u202f"}, {"'", "’"}}
	rapid.Check(t, func(t *rapid.T) {
		family := rapid.SampledFrom(families).Draw(t, "family")
		declared, written := rapid.SampledFrom(family).Draw(t, "declared"), rapid.SampledFrom(family).Draw(t, "written")
		f := &Field{Name: "a", Type: TypeInteger, GroupChar: declared}
		digits := rapid.StringMatching(`[1-9][0-9]{0,14}`).Draw(t, "digits")
		want, _ := new(big.Rat).SetString(digits)
		x, _ := want.Float64()
		parsesTo(t, f, group(digits, written), value.Num(x))
		parsesTo(t, f, "−"+group(digits, written), value.Num(-x))
	})
}

// TestHints wants a text in another notation to be refused with what the
// codebook would have to declare.
func TestHints(t *testing.T) {
	for _, c := range []struct{ field, text, want string }{
		{`{name: a, type: number}`, "12,5", `a number; to read such marks the codebook declares decimalChar ","`},
		{`{name: a, type: number}`, "1,234", `a number; to read such marks the codebook declares decimalChar ",", or groupChar ","`},
		{`{name: a, type: number}`, "1,234.5", `a number; to read such marks the codebook declares groupChar ","`},
		{`{name: a, type: number}`, "1.234,5", `a number; to read such marks the codebook declares decimalChar "," with groupChar "."`},
		{`{name: a, type: number}`, "1\u202f234", `a number; to read such marks the codebook declares groupChar " "`},
		{`{name: a, type: number}`, "1’234,5", `a number; to read such marks the codebook declares decimalChar "," with groupChar "'"`},
		{`{name: a, type: number, decimalChar: ","}`, "1.234,5", `a number (decimal mark ","); to read such marks the codebook declares groupChar "."`},
		{`{name: a, type: integer}`, "1,234", `an integer; to read such marks the codebook declares groupChar ","`},
		{`{name: a, type: integer}`, "12.0", `an integer; written without decimals it is 12`},
		{`{name: a, type: integer}`, "12,5", `an integer`},
		{`{name: a, type: integer, constraints: {maximum: 9}}`, "12.0", `an integer of at most 9`},
		{`{name: a, type: integer, categories: [1, 2]}`, "1.0", `one of 1, 2; written without decimals it is 1`},
		{`{name: a, type: integer, categories: [1, 2]}`, "3.0", `one of 1, 2`},
		{`{name: a, type: boolean}`, "1.0", `one of true, True, TRUE, 1, false, False, FALSE, 0; written without decimals it is 1`},
		{`{name: a, type: boolean, trueValues: ["yes"], falseValues: ["no"]}`, "1.0", `one of yes, no`},
		{`{name: a, type: number}`, "45 %", `a number; percent signs are read where heelcohort.percent says stored (45 % is 0.45) or shown (45 % is 45)`},
		{`{name: a, type: number, heelcohort: {unit: kg}}`, "45 kg", `a number in kg; a unit beside the number is read where bareNumber is false`},
		{`{name: a, type: number}`, "<5", `a number`},
		{`{name: a, type: date}`, "31.03.2024", `a date such as 2024-03-31; written as %d.%m.%Y where the codebook declares default (%Y-%m-%d)`},
		{`{name: a, type: date}`, "03/04/2024", `a date such as 2024-03-31; written as %d/%m/%Y or %m/%d/%Y where the codebook declares default (%Y-%m-%d)`},
		{`{name: a, type: date}`, "20240331", `a date such as 2024-03-31; written as %Y%m%d where the codebook declares default (%Y-%m-%d)`},
		{`{name: a, type: date}`, "31032024", `a date such as 2024-03-31; written as %d%m%Y where the codebook declares default (%Y-%m-%d)`},
		{`{name: a, type: date, format: "%d.%m.%Y"}`, "2024-03-31", `a date such as 31.03.2024; written as %Y-%m-%d where the codebook declares %d.%m.%Y`},
		{`{name: a, type: date, format: "%d.%m.%Y"}`, "31.03.24", `a date such as 31.03.2024; a year of two digits does not say its century`},
		{`{name: a, type: date}`, "45382", `a date such as 2024-03-31; 45382 looks like the day number of a spreadsheet; save the column shown as dates`},
		{`{name: a, type: date}`, "2024-03-31 13:45", `a date such as 2024-03-31; the time of day 13:45 has no place in a date; the type datetime allows it`},
		{`{name: a, type: datetime}`, "2024-03-31T13:45+02:00", `a date and time such as 2024-03-31T13:45:00; a time of day stands without a zone, or with Z`},
		{`{name: a, type: datetime}`, "31.03.2024 13:45", `a date and time such as 2024-03-31T13:45:00; written as %d.%m.%Y %H:%M where the codebook declares default (%Y-%m-%dT%H:%M:%S)`},
		{`{name: a, type: datetime, format: "%d.%m.%Y %H:%M"}`, "2024-03-31T13:45:07", `a date and time such as 31.03.2024 00:00; written as %Y-%m-%d %H:%M:%S where the codebook declares %d.%m.%Y %H:%M`},
		{`{name: a, type: date}`, "soon", `a date such as 2024-03-31`},
	} {
		_, fault := mustField(t, c.field).Parse(c.text)
		if fault == nil || fault.Expected != c.want {
			t.Errorf("%s with %q:\n got %+v\nwant %s", c.field, c.text, fault, c.want)
		}
	}
}

// TestBlanksNeverCount wants the same answer whatever blanks stand around a
// text, and a heading to be the same however its blanks are written.
func TestBlanksNeverCount(t *testing.T) {
	fields := everyField(t)
	blanks := rapid.StringOfN(rapid.SampledFrom([]rune(" \t\n\r\v\f\u0085\u00a0\u1680\u2003\u2009\u200b\u200c\u200d\u200e\u200f\u2028\u2029\u202f\u205f\u2060\u3000\ufeff")), 0, 4, -1)
	words := []string{"1", "1.5", "-9", "SM-0001", "left", "NM", "2024-03-31", "31.12.2020 00:00", "20240331", "yes", "no", "45 %", "'x", "a  b", ""}
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom(words).Draw(t, "text")
		around := blanks.Draw(t, "before") + text + blanks.Draw(t, "after")
		for _, f := range fields {
			want, fault := f.Parse(text)
			got, again := f.Parse(around)
			if got != want || (fault == nil) != (again == nil) {
				t.Fatalf("%s: %q gives %+v, %+v, and %q gives %+v, %+v", f.Name, text, want, fault, around, got, again)
			}
		}
		if got, want := Heading(around), strings.Join(strings.Fields(text), " "); got != want {
			t.Fatalf("heading %q of %q, want %q", got, around, want)
		}
	})
}

func TestDecodeNotation(t *testing.T) {
	p := decodeFile(t, "testdata/good/notation.yaml")
	angles, visits := p.Resource("angles"), p.Resource("visits")
	if !slices.Equal(angles.HeaderRows, []int{2, 3}) || angles.HeaderRow != 2 || angles.HeaderJoin != " / " {
		t.Errorf("angles: %v, %d, %q", angles.HeaderRows, angles.HeaderRow, angles.HeaderJoin)
	}
	if !slices.Equal(visits.HeaderRows, []int{1, 2}) || visits.HeaderRow != 1 || visits.HeaderJoin != " " {
		t.Errorf("visits: %v, %d, %q", visits.HeaderRows, visits.HeaderRow, visits.HeaderJoin)
	}
	child, right := angles.Schema.Field("child"), angles.Schema.Field("right_deg")
	if diff := cmp.Diff([]string{"child", "Child", "Child ID (pseudonym)"}, child.Headings()); diff != "" {
		t.Errorf("headings (-want +got)\n%s", diff)
	}
	if right.Column != "XFD" || right.Percent != "" || angles.Schema.Field("adherence").Percent != PercentShown {
		t.Errorf("column %q, percent %q", right.Column, right.Percent)
	}
	for name, want := range map[string]int{"child": 0, "measured": 0, "entered": 0, "birthday": 8} {
		if got := angles.Schema.Field(name).DigitWidth(); got != want {
			t.Errorf("%s has %d digits, want %d", name, got, want)
		}
	}
	measured := angles.Schema.Field("measured")
	if measured.Kind() != value.Date || measured.ShowDay(march31) != "2024-03-31" || angles.Schema.Field("entered").ShowDay(march31) != "31.03.2024 00:00" {
		t.Errorf("measured is a %v", measured.Kind())
	}
	if got, want := measured.Expected(), "a date and time such as 2024-03-31T13:45:00, not before 2021-01-01 and before 2025-01-01"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
