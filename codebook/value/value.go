// Package value holds the one shape in which a cell's content travels through
// the program: a typed value, or the reason why there is none.
//
// A missing value is never a number. It carries the code that was written in
// its place ("NM", "999", "" for an empty cell) so that tables can count
// missing values by code.
package value

import (
	"math"
	"strconv"
	"time"
)

// A Kind is the type of a value.
type Kind uint8

// The kinds of value. Integers are Numbers; categories are Texts.
const (
	Unknown Kind = iota
	Number
	Text
	Bool
	Date
)

// String returns the word used for k in messages.
func (k Kind) String() string {
	switch k {
	case Number:
		return "number"
	case Text:
		return "text"
	case Bool:
		return "boolean"
	case Date:
		return "date"
	}
	return "unknown"
}

// Codes the program itself gives to a value that is missing for a reason no
// codebook declares. A codebook may not declare them.
const (
	// CodeFault marks a cell that failed validation and was set to missing
	// because the plan says so.
	CodeFault = "fault"
	// CodeUndefined marks the result of an operation without a value, such as
	// a division by zero.
	CodeUndefined = "undefined"
	// CodeNoRow marks a variable of a linked table that has no matching row.
	CodeNoRow = "no linked row"
)

// A Value is one typed value or a missing one.
type Value struct {
	Kind    Kind
	Missing bool
	Code    string  // the missing code as written; "" is an empty cell
	Number  float64 // Number; for Date the days since 1970-01-01
	Text    string
	Bool    bool
}

// Num returns a number. A number that is not finite is missing.
func Num(x float64) Value {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return Value{Kind: Number, Missing: true, Code: CodeUndefined}
	}
	return Value{Kind: Number, Number: x}
}

// Str returns a text.
func Str(s string) Value { return Value{Kind: Text, Text: s} }

// Truth returns a boolean.
func Truth(b bool) Value { return Value{Kind: Bool, Bool: b} }

// Day returns a date given as days since 1970-01-01.
func Day(days float64) Value { return Value{Kind: Date, Number: days} }

// None returns a missing value of kind k with the given code.
func None(k Kind, code string) Value { return Value{Kind: k, Missing: true, Code: code} }

// String returns v as it is written in a message or a table: numbers in the
// shortest form that reads back the same (whole numbers without an exponent), dates as 2006-01-02, missing values
// as their code.
func (v Value) String() string {
	if v.Missing {
		return v.Code
	}
	switch v.Kind {
	case Number:
		if v.Number == math.Trunc(v.Number) && math.Abs(v.Number) < 1<<53 {
			return strconv.FormatFloat(v.Number, 'f', -1, 64)
		}
		return strconv.FormatFloat(v.Number, 'g', -1, 64)
	case Text:
		return v.Text
	case Bool:
		return strconv.FormatBool(v.Bool)
	case Date:
		return time.Unix(int64(v.Number)*86400, 0).UTC().Format("2006-01-02")
	}
	return ""
}
