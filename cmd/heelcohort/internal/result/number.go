package result

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// How an unbounded number is written.
const (
	unboundedAbove = "unbounded"
	unboundedBelow = "unbounded below"
)

// String is n with the fewest digits that read back as the same number:
// "unbounded" or "unbounded below" when it is infinite, "" when it is absent.
func (n Number) String() string {
	x := float64(n)
	switch {
	case math.IsNaN(x):
		return ""
	case math.IsInf(x, 1):
		return unboundedAbove
	case math.IsInf(x, -1):
		return unboundedBelow
	}
	return string(appendDigits(nil, x))
}

// appendDigits appends the shortest decimal text of a finite number, with an
// exponent for numbers below 1e-6 and from 1e21 on.
func appendDigits(dst []byte, x float64) []byte {
	format := byte('f')
	if size := math.Abs(x); size != 0 && (size < 1e-6 || size >= 1e21) {
		format = 'e'
	}
	return strconv.AppendFloat(dst, x, format, -1, 64)
}

// MarshalJSON writes null for an absent number, a word for an unbounded one.
func (n Number) MarshalJSON() ([]byte, error) {
	x := float64(n)
	switch {
	case math.IsNaN(x):
		return []byte("null"), nil
	case math.IsInf(x, 0):
		return strconv.AppendQuote(nil, n.String()), nil
	}
	return appendDigits(nil, x), nil
}

// UnmarshalJSON reads what MarshalJSON writes.
func (n *Number) UnmarshalJSON(data []byte) error {
	data = bytes.TrimSpace(data)
	switch string(data) {
	case "null":
		*n = None()
		return nil
	case `"` + unboundedAbove + `"`:
		*n = Number(math.Inf(1))
		return nil
	case `"` + unboundedBelow + `"`:
		*n = Number(math.Inf(-1))
		return nil
	}
	var x float64
	if err := json.Unmarshal(data, &x); err != nil {
		return fmt.Errorf("found %s, expected a number, null, %q or %q", data, unboundedAbove, unboundedBelow)
	}
	*n = Number(x)
	return nil
}
