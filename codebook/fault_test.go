package codebook

import "testing"

// TestFault wants the words in which a fault says what was expected and what
// is nearest.
func TestFault(t *testing.T) {
	for _, c := range []struct{ field, text, rule, expected, nearest string }{
		{`{name: a, type: number, constraints: {minimum: 95, maximum: 200}, heelcohort: {unit: cm}}`, "210", RuleMaximum, "a number of at least 95 and at most 200 cm", ""},
		{`{name: a, type: number, constraints: {exclusiveMinimum: 0, exclusiveMaximum: 0.5}}`, "0", RuleMinimum, "a number of above 0 and below 0.5", ""},
		{`{name: a, type: number, decimalChar: ","}`, "1.5", RuleType, `a number (decimal mark ",")`, ""},
		{`{name: a, type: integer, heelcohort: {unit: days}}`, "1.5", RuleType, "an integer in days", ""},
		{`{name: a, type: number, missingValues: ["NM", "DK"]}`, "nm", RuleType, "a number", "NM"},
		{`{name: a, type: number, missingValues: ["999"]}`, "999.0", RuleType, "the missing code written as 999", "999"},
		{`{name: a, type: integer, categories: [1, 2], missingValues: ["9"]}`, "09", RuleType, "the missing code written as 9", "9"},
		{`{name: a, type: number, missingValues: ["NM"]}`, "", RuleRequired, "a number; the cell must not be empty", ""},
		{`{name: a, type: number, constraints: {required: true}}`, "", RuleRequired, "a number; the value must not be missing", ""},
		{`{name: heel, type: string, categories: [left, right]}`, "lefft", RuleCategory, "one of left, right", "left"},
		{`{name: heel, type: string, categories: [left, right]}`, " Left ", RuleCategory, "one of left, right", "left"},
		{`{name: heel, type: integer, categories: [{value: 1, label: left}, {value: 2, label: right}]}`, "Right", RuleType, "one of 1, 2", "2"},
		{`{name: a, type: integer, categories: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13]}`, "14", RuleCategory, "one of 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, … (13 in all)", "1"},
		{`{name: a, type: boolean, trueValues: ["yes"], falseValues: ["no"]}`, "Yes", RuleType, "one of yes, no", "yes"},
		{`{name: a, type: date, constraints: {minimum: "2021-01-01", exclusiveMaximum: "2025-01-01"}}`, "2020-12-31", RuleMinimum, "a date such as 2024-03-31, not before 2021-01-01 and before 2025-01-01", ""},
		{`{name: a, type: date, format: "%d %b %Y"}`, "2024-03-31", RuleType, "a date such as 31 Mar 2024; written as %Y-%m-%d where the codebook declares %d %b %Y", ""},
		{`{name: a, type: string, constraints: {enum: [alpha, beta]}}`, "bete", RuleEnum, "one of alpha, beta", "beta"},
		{`{name: a, type: string, constraints: {minLength: 2}}`, "x", RuleLength, "a text of at least 2 characters", ""},
		{`{name: a, type: string, constraints: {maxLength: 2}}`, "xyz", RuleLength, "a text of at most 2 characters", ""},
		{`{name: a, type: string, constraints: {minLength: 2, maxLength: 4}}`, "x", RuleLength, "a text of 2 to 4 characters", ""},
		{`{name: a, type: string, constraints: {minLength: 7, maxLength: 7, pattern: 'SM-[0-9]{4}'}}`, "SM-00x1", RulePattern, "a text of 7 characters that matches SM-[0-9]{4}", ""},
	} {
		_, fault := mustField(t, c.field).Parse(c.text)
		if fault == nil {
			t.Errorf("%s accepts %q", c.field, c.text)
			continue
		}
		if want := (Fault{c.rule, c.expected, c.nearest}); *fault != want {
			t.Errorf("%s with %q:\n got %+v\nwant %+v", c.field, c.text, *fault, want)
		}
	}
}
