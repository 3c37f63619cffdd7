package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

func TestMissing(t *testing.T) {
	checkResults(t, []result{
		{"is_missing(age)", no()},
		{"is_missing(height)", yes()},
		{"is_missing(sex)", no()},
		{"is_missing(end_type)", yes()},
		{"is_missing(limp)", no()},
		{"is_missing(squeeze)", yes()},
		{"is_missing(born)", yes()},
		{"is_missing(1 / 0)", yes()},
		{"is_missing(squeeze and swelling)", no()},
		{"is_missing(squeeze and limp)", yes()},
		{"is_missing(participants.sports_n)", yes()},
		{"missing_code(height)", value.Str("NM")},
		{"missing_code(born)", value.Str("")},
		{"missing_code(born) == ''", yes()},
		{"missing_code(weight + height)", value.Str("999")},
		{"missing_code(1 / 0)", value.Str(value.CodeUndefined)},
		{"missing_code(age)", none(value.Text, CodeNotMissing)},
		{"missing_code(age) == 'NM'", none(value.Bool, CodeNotMissing)},
		{"is_missing(age) and missing_code(age) == 'NM'", no()},
		{"is_missing(height) and missing_code(height) == 'NM'", yes()},
		{"coalesce(height, weight, age)", num(9.5)},
		{"coalesce(age, height)", num(9.5)},
		{"coalesce(height, weight)", none(value.Number, "NM")},
		{"coalesce(weight, height)", none(value.Number, "999")},
		{"coalesce(end_type, 'unknown')", value.Str("unknown")},
		{"coalesce(sex, 'unknown')", value.Str("female")},
		{"coalesce(squeeze, false)", no()},
		{"coalesce(squeeze, swelling) or limp", yes()},
	})
	checkRefusals(t, []refusal{
		{"coalesce(age, ¦'x')", "expected a number", ""},
		{"¦coalesce(age)", "found coalesce with 1 argument", ""},
		{"is_missing(¦nothing)", "expected a variable of this table", ""},
		{"¦is_missing()", "found is_missing with 0 arguments", ""},
		{"coalesce(sex, 'unknown') == ¦'unknwn'", "can hold", "unknown"},
	})
}
