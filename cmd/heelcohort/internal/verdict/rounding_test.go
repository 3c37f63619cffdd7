package verdict

import (
	"testing"

	"heelcohort/cmd/heelcohort/internal/printedtable"
)

// number reads a printed number.
func number(t testing.TB, text string) printedtable.Number {
	t.Helper()
	c, err := printedtable.Parse(text, printedtable.Point)
	if err != nil || len(c.Numbers) != 1 {
		t.Fatalf("%q: %v, %v", text, c, err)
	}
	return c.Numbers[0]
}

// The wanted verdicts follow from the rules by hand.
func TestJudge(t *testing.T) {
	for _, c := range []struct {
		printed string
		x       float64
		sort    Sort
		how     string
	}{
		{"0.86", 0.857142, Same, ""},
		{"0.85", 0.857142, Rounding, "truncated"},
		{"0.87", 0.857142, Differs, ""},
		{"1.50", 1.496, Same, ""},
		{"1.5", 1.46, Same, ""},
		{"1.50", 1.46, Differs, ""},
		{"0.29", 0.285, Rounding, "half up"}, // 57/200: 0.285 lies below in binary
		{"0.28", 0.285, Rounding, "half even"},
		{"12.5", 12.5, Same, ""},
		{"13", 12.5, Rounding, "half up"},
		{"12", 12.5, Rounding, "half even"},
		{"14", 13.5, Same, ""}, // up and to the even digit
		{"13", 13.5, Rounding, "truncated"},
		{"0.5", 0.446, Rounding, "rounded twice, first to one decimal more"},
		{"0.5", 0.4445, Differs, ""},
		{"0.45", 0.44497, Rounding, "rounded twice, first to one decimal more"},
		{"−0.54", -0.5352, Same, ""},
		{"−0.53", -0.5352, Rounding, "truncated"},
		{"−0.54", -0.5401, Same, ""},
		{"<0.001", 0.0009, Same, ""},
		{"<0.001", 0.001, Differs, ""},
		{"≤0.001", 0.001, Same, ""},
		{">0.99", 0.995, Same, ""},
		{"0.000", 0.0004, Same, ""},
		{"1,234", 1234, Same, ""},
	} {
		if sort, how := judge(number(t, c.printed), c.x); sort != c.sort || how != c.how {
			t.Errorf("%s of %v: %s, %s, want %s, %s", c.printed, c.x, sort, how, c.sort, c.how)
		}
	}
}
