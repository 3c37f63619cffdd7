package codebook

import (
	"math"
	"testing"

	"heelcohort/codebook/value"
)

// A cell is a text with what Parse must make of it: a value, or a fault of a
// rule.
type cell struct {
	text string
	want value.Value
	rule string // "" is no fault
}

func good(text string, v value.Value) cell { return cell{text: text, want: v} }

func bad(rule string, texts ...string) []cell {
	var out []cell
	for _, text := range texts {
		out = append(out, cell{text: text, rule: rule})
	}
	return out
}

func nums(pairs ...any) []cell {
	var out []cell
	for i := 0; i < len(pairs); i += 2 {
		x, ok := pairs[i+1].(float64)
		if !ok {
			x = float64(pairs[i+1].(int))
		}
		out = append(out, good(pairs[i].(string), value.Num(x)))
	}
	return out
}

func checkCells(t *testing.T, field string, lists ...[]cell) {
	t.Helper()
	f := mustField(t, field)
	for _, list := range lists {
		for _, c := range list {
			got, fault := f.Parse(c.text)
			switch {
			case c.rule == "" && fault != nil:
				t.Errorf("%s: %q breaks %s, want %+v", field, c.text, fault.Rule, c.want)
			case c.rule == "" && got != c.want:
				t.Errorf("%s: %q gives %+v, want %+v", field, c.text, got, c.want)
			case c.rule != "" && fault == nil:
				t.Errorf("%s: %q gives %+v, want a fault of %s", field, c.text, got, c.rule)
			case c.rule != "" && (fault.Rule != c.rule || fault.Expected == "" || got != value.Value{}):
				t.Errorf("%s: %q gives %+v and %+v, want a fault of %s", field, c.text, got, *fault, c.rule)
			}
		}
	}
}

func none(k value.Kind, code string) value.Value { return value.None(k, code) }

func TestParseInteger(t *testing.T) {
	checkCells(t, `{name: a, type: integer}`,
		nums("0", 0, "-0", 0, "+7", 7, "-12", -12, "−12", -12, "−0", 0, "'7", 7, "'-7", -7, "\u200e7\u2060", 7, "007", 7, " 7 ", 7, "\u00a07\u202f", 7, "\t7\r\n", 7, "\ufeff7", 7, "\u20037\u200b", 7,
			"9007199254740991", 9007199254740991, "-9007199254740991", -9007199254740991),
		bad(RuleType, "7.0", "7.", "1e3", "1,000", "1 000", "0x10", "٣", "७", "7th", "--7", "+-7", "- 7", "−−7", "7−", "–7", "７", "NaN", "INF", "-inf", "1_0", "½", ".", "-", "one",
			"7\u00a08", "7\x00", "\xff", "9007199254740992", "9007199254740993", "-9007199254740993", "99999999999999999999999999"),
		[]cell{good("", none(value.Number, "")), good("  ", none(value.Number, "")), good("\u00a0", none(value.Number, ""))})
	checkCells(t, `{name: a, type: integer, groupChar: "."}`,
		nums("1.234", 1234, "-12.345.678", -12345678, "1234", 1234, "5", 5), bad(RuleType, "1.23", "1.2345", ".123", "1.234.", "0.123", "1..234"))
	checkCells(t, `{name: a, type: integer, bareNumber: false}`,
		nums("7 days", 7, "n 7", 7), bad(RuleType, "7.5 days", "7-8 days"))
}

func TestParseNumber(t *testing.T) {
	checkCells(t, `{name: a, type: number}`,
		nums("0", 0, "-0.0", 0, "142.5", 142.5, "+.5", 0.5, "5.", 5, "1e3", 1000, "1.5E-3", 0.0015, "1.5e−3", 0.0015, "−1.5", -1.5, "'1.5", 1.5, "-1e+2", -100, " 1 ", 1, "\u00a01\u00a0", 1,
			"0.1", 0.1, "179769313486231570000e288", 1.7976931348623157e308, "5e-324", 5e-324, "0e-999", 0, "-0e5", 0,
			"0.30000000000000004", math.Nextafter(0.3, 1)),
		bad(RuleType, "NaN", "nan", "INF", "-INF", "Infinity", "1e400", "-1e400", "1e-400", "-0.00001e-320", "0x1p4", "1,5", "1 5", "1.5.5", "1e", "e5", "1e5.5",
			".", "-.", "+", "<5", "~5", "5%", "5 kg", "1_000", "1d3", "5,", "⅓", "１", "''1", "1'", "'", "'1,5"),
	)
	checkCells(t, `{name: a, type: number, decimalChar: ","}`,
		nums("1,5", 1.5, ",5", 0.5, "5,", 5, "15", 15, "1,5e2", 150), bad(RuleType, "1.5", "1,5,5", "1.234,5", "1,5.0"))
	checkCells(t, `{name: a, type: number, groupChar: ","}`,
		nums("1,234", 1234, "1,234,567.25", 1234567.25, "-1,234", -1234, "+12,345e2", 1234500, "1234.5", 1234.5, "0.123", 0.123),
		bad(RuleType, "1,5", "12,34", "1234,567", ",123", "1,234.567,8", "1.5,000", "1,,234", "0,123", "00,123", "1,234,", "1,234e1,000", "1,2a4"))
	checkCells(t, `{name: a, type: number, decimalChar: ",", groupChar: "."}`,
		nums("1.234,5", 1234.5, "1.234", 1234, "1,5", 1.5, "12,345", 12.345), bad(RuleType, "1.5", "1,234.5", "0.5", "1.23,4"))
	checkCells(t, `{name: a, type: number, groupChar: " "}`,
		nums("1 234", 1234, " 1 234.5 ", 1234.5, "1\u00a0234", 1234, "1\u202f234\u2009567", 1234567, "−1\u2009234", -1234), bad(RuleType, "1  234", "12 34", "1\u2003234", "1\u200b234"))
	checkCells(t, `{name: a, type: number, groupChar: "\u00a0"}`, nums("1\u00a0234", 1234, "1 234", 1234), bad(RuleType, "1\t234"))
	checkCells(t, `{name: a, type: number, groupChar: "’"}`, nums("1’234’567", 1234567, "1'234", 1234, "'1'234", 1234), bad(RuleType, "1‘234"))
	checkCells(t, `{name: a, type: number, groupChar: "'"}`, nums("1’234.5", 1234.5))
	checkCells(t, `{name: a, type: number, groupChar: "\u2009"}`, nums("1\u2009234.5", 1234.5, "1 234", 1234))
	checkCells(t, `{name: a, type: number, decimalChar: ",", groupChar: "\u202f"}`, nums("1\u00a0234,5", 1234.5), bad(RuleType, "1.234,5"))
	checkCells(t, `{name: a, type: number, bareNumber: false}`,
		nums("95%", 95, "€ 95", 95, "$-95.5", -95.5, "-95 kg", -95, "kg 7", 7, "EUR -7", -7, "12°", 12, "1.5e3 mm", 1500, "1e3", 1000, "7", 7),
		bad(RuleType, "<95", "~95 kg", "95-99 kg", "SM-12", "kg-5", "A+1", "95 kg 3", "kg", "%", "22 kg/m2", "95 kg!", "1e400 kg", "NaN"))
}

func TestParseBoolean(t *testing.T) {
	yes, no := value.Truth(true), value.Truth(false)
	checkCells(t, `{name: a, type: boolean}`,
		[]cell{
			good("true", yes), good("True", yes), good("TRUE", yes), good("1", yes), good(" 1\u00a0", yes),
			good("false", no), good("False", no), good("FALSE", no), good("0", no), good("", none(value.Bool, "")),
		}, bad(RuleType, "tRUE", "yes", "y", "2", "1.0", "-1", "01", "T"))
	checkCells(t, `{name: a, type: boolean, trueValues: ["ja", "J"]}`,
		[]cell{good("ja", yes), good("J", yes), good("0", no), good("FALSE", no)}, bad(RuleType, "1", "true", "j", "JA", "nein"))
	checkCells(t, `{name: a, type: boolean, missingValues: ["9", "NM"]}`,
		[]cell{good("9", none(value.Bool, "9")), good(" NM ", none(value.Bool, "NM")), good("1", yes)}, bad(RuleType, "09", "nm"), bad(RuleRequired, "", " "))
}

func TestParseDate(t *testing.T) {
	// Days from 1970-01-01: 54 years with 13 leap days to 2024-01-01, then 31
	// and 29 days and 30 more.
	const march31 = 54*365 + 13 + 31 + 29 + 30
	checkCells(t, `{name: a, type: date}`,
		[]cell{
			good("2024-03-31", value.Day(march31)), good("2024-02-29", value.Day(march31-31)), good("2024-03-31T00:00:00", value.Day(march31)), good("2024-03-31 00:00", value.Day(march31)),
			good("2024-03-31 00:00:00.000", value.Day(march31)), good("2024-03-31T00:00:00Z", value.Day(march31)), good("'2024-03-31", value.Day(march31)), good(" 2024-03-31\u00a0", value.Day(march31)),
			good("1970-01-01", value.Day(0)), good("1969-12-31", value.Day(-1)), good("2000-02-29", value.Day(30*365+7+31+28)),
			good("", none(value.Date, "")),
		},
		bad(RuleType, "2023-02-29", "1900-02-29", "2024-04-31", "2024-13-01", "2024-00-10", "2024-01-00", "0000-01-01", "2024-3-31", "24-03-31", "2024-03-31T00:00:01", "2024-03-31 12:00", "2024-03-31T24:00:00", "2024-03-31T00:00:00+02:00", "2024-03-31T", "00:00", "20240331",
			"2024/03/31", "31.03.2024", "45382", "2024-03-31 x", "x", "2024-03", "-2024-03-31", "12024-03-31", "２024-03-31"))
	checkCells(t, `{name: a, type: date, format: "%d.%m.%Y"}`,
		[]cell{good("31.03.2024", value.Day(march31)), good("31.3.2024", value.Day(march31)), good("1.4.2024", value.Day(march31+1)), good("31.03.2024 0:00", value.Day(march31)), good("31.03.2024 12:00:00 AM", value.Day(march31))},
		bad(RuleType, "31.03.2024 12:00", "31.03.2024 12:00 PM", "2024-03-31", "31.03.24", "03.31.2024", "31-03-2024", "031.03.2024", "31..2024"))
	checkCells(t, `{name: a, type: date, format: "%m/%d/%Y"}`,
		[]cell{good("03/31/2024", value.Day(march31)), good("3/31/2024", value.Day(march31))}, bad(RuleType, "31/03/2024"))
	checkCells(t, `{name: a, type: date, format: "%Y%m%d"}`,
		[]cell{good("20240331", value.Day(march31))}, bad(RuleType, "2024331", "202403310", "2024031"))
	checkCells(t, `{name: a, type: date, format: "%d %b %Y"}`,
		[]cell{good("31 Mar 2024", value.Day(march31)), good("31 MAR 2024", value.Day(march31)), good("1 apr 2024", value.Day(march31+1))},
		bad(RuleType, "31 March 2024", "31 Mär 2024", "31 3 2024"))
	checkCells(t, `{name: a, type: date, format: "%B %d, %Y"}`,
		[]cell{good("March 31, 2024", value.Day(march31)), good("may 1, 2024", value.Day(march31+31))}, bad(RuleType, "Mar 31, 2024", "März 31, 2024"))
	checkCells(t, `{name: a, type: date, format: "%Y-%m-%dT00:00:00"}`, []cell{good("2024-03-31T00:00:00", value.Day(march31))}, bad(RuleType, "2024-03-31T00:00:01", "2024-03-31"))
	checkCells(t, `{name: a, type: date, format: "%d.%m.%Y", constraints: {minimum: 01.01.2024, exclusiveMaximum: "31.03.2024"}}`,
		[]cell{good("30.03.2024", value.Day(march31-1)), good("1.1.2024", value.Day(march31-90))}, bad(RuleMinimum, "31.12.2023"), bad(RuleMaximum, "31.03.2024", "1.4.2024"))
	// Another spelling of a code is no day.
	checkCells(t, `{name: a, type: date, format: "%d.%m.%Y", missingValues: ["01.01.1900"]}`,
		[]cell{good("01.01.1900", none(value.Date, "01.01.1900")), good(" 01.01.1900 ", none(value.Date, "01.01.1900"))}, bad(RuleType, "1.1.1900"))
}

func TestParseString(t *testing.T) {
	checkCells(t, `{name: a, type: string}`, []cell{
		good("x", value.Str("x")), good(" x ", value.Str("x")), good("\ufeffx\u200b\r\n", value.Str("x")), good("a  b", value.Str("a  b")), good("a\u00a0b", value.Str("a\u00a0b")), good("a\r\nb\rc\n", value.Str("a\nb\nc")),
		good("'x", value.Str("'x")), good("'", value.Str("'")), good("'NaN", value.Str("'NaN")), good("007", value.Str("007")), good("NaN", value.Str("NaN")), good("\xff", value.Str("\xff")),
		good("", none(value.Text, "")), good(" ", none(value.Text, "")),
	})
	checkCells(t, `{name: a, type: string, missingValues: []}`, []cell{good("", value.Str("")), good(" ", value.Str(""))})
	checkCells(t, `{name: a, type: string, missingValues: [], constraints: {required: true}}`, bad(RuleRequired, "", " ", "\u00a0\u200b"))
	checkCells(t, `{name: a, type: string, constraints: {minLength: 2, maxLength: 3}}`,
		[]cell{good("ab", value.Str("ab")), good("äöü", value.Str("äöü")), good("ab  ", value.Str("ab"))}, bad(RuleLength, "a", "abcd", "äöüß", "a ", "'abc"))
	checkCells(t, `{name: a, type: string, constraints: {pattern: 'SM-[0-9]{4}|X'}}`,
		[]cell{good("SM-0001", value.Str("SM-0001")), good("X", value.Str("X")), good("SM-0001\n", value.Str("SM-0001")), good(" 'X ", value.Str("X"))}, bad(RulePattern, "SM-00011", "aSM-0001", "XX", "sm-0001", "''X", "SM-\u200b0001"))
	checkCells(t, `{name: a, type: string, constraints: {pattern: '^a$'}}`, []cell{good("a", value.Str("a"))}, bad(RulePattern, "ab", "a\nb"))
	checkCells(t, `{name: a, type: string, constraints: {enum: [x, y]}}`, []cell{good("x", value.Str("x")), good("x ", value.Str("x")), good("'x", value.Str("x"))}, bad(RuleEnum, "X", "x  y", "z"))
	checkCells(t, `{name: a, type: string, constraints: {enum: [x, " x", "y "]}}`, []cell{good(" x", value.Str(" x")), good("x ", value.Str("x")), good("y ", value.Str("y "))}, bad(RuleEnum, "y"))
	checkCells(t, `{name: a, type: string, constraints: {pattern: ' ?[a-z] '}}`, []cell{good("x ", value.Str("x ")), good(" x ", value.Str(" x "))}, bad(RulePattern, "x", "x  "))
	checkCells(t, `{name: a, type: string, missingValues: ["", "NM"]}`, []cell{good("NM ", none(value.Text, "NM"))}, bad(RuleType, "'NM"))
}

func TestParseCategories(t *testing.T) {
	checkCells(t, `{name: a, type: string, categories: [left, "both heels"]}`,
		[]cell{good("left", value.Str("left")), good("both heels", value.Str("both heels")), good("", none(value.Text, ""))},
		[]cell{good("left ", value.Str("left")), good("'left", value.Str("left")), good("\u00a0both heels\t", value.Str("both heels"))},
		bad(RuleCategory, "Left", "both\u00a0heels", "both  heels", "lft", "''left"))
	checkCells(t, `{name: a, type: string, categories: [left], missingValues: [NM]}`,
		[]cell{good("NM", none(value.Text, "NM")), good(" NM", none(value.Text, "NM"))}, bad(RuleCategory, "", " ", "nm"))
	checkCells(t, `{name: a, type: integer, categories: [0, 1, 12], missingValues: ["99"]}`,
		[]cell{good("0", value.Str("0")), good("-0", value.Str("0")), good("01", value.Str("1")), good(" 12 ", value.Str("12")), good("99", none(value.Text, "99"))},
		bad(RuleType, "1.0", "x", "099", "+99"), bad(RuleCategory, "2", "-1"), bad(RuleRequired, ""))
}

// TestParseLongCodes wants long coded integers to keep their digits.
func TestParseLongCodes(t *testing.T) {
	checkCells(t, `{name: a, type: integer, categories: [1234567, 10000000000]}`,
		[]cell{good("1234567", value.Str("1234567")), good("010000000000", value.Str("10000000000"))}, bad(RuleCategory, "1234568"))
	f := mustField(t, `{name: a, type: integer, constraints: {minimum: -1000000, maximum: 12345678}}`)
	if got, want := f.Expected(), "an integer of at least -1000000 and at most 12345678"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestParseLimits(t *testing.T) {
	checkCells(t, `{name: a, type: number, constraints: {minimum: 6, maximum: 16.9}}`,
		nums("6", 6, "6.0", 6, "16.9", 16.9), bad(RuleMinimum, "5.999999999999999", "-1e300"), bad(RuleMaximum, "16.900000000000002", "1e300"))
	checkCells(t, `{name: a, type: number, constraints: {exclusiveMinimum: 6, exclusiveMaximum: 7}}`,
		nums("6.000000000000001", 6.000000000000001, "6.999999999999999", 6.999999999999999), bad(RuleMinimum, "6", "5"), bad(RuleMaximum, "7", "7.0", "8"))
	checkCells(t, `{name: a, type: integer, constraints: {minimum: -3, exclusiveMinimum: -4, maximum: 3, exclusiveMaximum: 3}}`,
		nums("-3", -3, "2", 2), bad(RuleMinimum, "-4"), bad(RuleMaximum, "3"))
	checkCells(t, `{name: a, type: integer, constraints: {minimum: 2, maximum: 2}}`, nums("2", 2), bad(RuleMinimum, "1"), bad(RuleMaximum, "3"))
	checkCells(t, `{name: a, type: number, constraints: {enum: [0, 0.5, 1]}}`, nums("-0", 0, "0.50", 0.5, "1e0", 1), bad(RuleEnum, "0.25", "2"))
	checkCells(t, `{name: a, type: boolean, constraints: {enum: [true]}}`, []cell{good("1", value.Truth(true))}, bad(RuleEnum, "0"))
}

func TestParseMissing(t *testing.T) {
	checkCells(t, `{name: a, type: number, constraints: {minimum: 0}, missingValues: ["999", "NM", {value: "-9", label: refused}]}`,
		[]cell{
			good("999", none(value.Number, "999")), good(" 999\u00a0", none(value.Number, "999")), good("NM", none(value.Number, "NM")), good("-9", none(value.Number, "-9")), good("−9", none(value.Number, "-9")), good("'NM", none(value.Number, "NM")),
			good("9", value.Num(9)), good("998.9", value.Num(998.9)),
		},
		bad(RuleType, "999.0", "0999", "9.99e2", "+999", "-9.0", "nm"), bad(RuleRequired, "", " "), bad(RuleMinimum, "-8"))
	checkCells(t, `{name: a, type: number, constraints: {required: true}, missingValues: ["NM", ""]}`, nums("1", 1), bad(RuleRequired, "NM", "", " NM "))
	checkCells(t, `{name: a, type: number, decimalChar: ",", missingValues: ["9,9"]}`, []cell{good("9,9", none(value.Number, "9,9"))}, bad(RuleType, "9,90"))
	checkCells(t, `{name: a, type: number, missingValues: ["NaN", "INF"]}`, []cell{good("NaN", none(value.Number, "NaN"))}, bad(RuleType, "nan", "-INF"))
}

// TestParseUnmade wants a field that Decode did not make to refuse and not to
// panic.
func TestParseUnmade(t *testing.T) {
	for _, typ := range append(types, "", "other") {
		f := &Field{Name: "a", Type: typ}
		if _, fault := f.Parse("x"); fault == nil && typ != TypeString {
			t.Errorf("type %q accepts x", typ)
		}
		_ = f.Expected()
	}
}
