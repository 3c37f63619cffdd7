package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

func TestArithmetic(t *testing.T) {
	undefined := none(value.Number, value.CodeUndefined)
	checkResults(t, []result{
		{"1 + 2 * 3", num(7)},
		{"(1 + 2) * 3", num(9)},
		{"10 - 4 - 3", num(3)},
		{"24 / 4 / 2", num(3)},
		{"2 ** 3 ** 2", num(512)}, // 2 to the 9th
		{"-2 ** 2", num(-4)},
		{"(-2) ** 2", num(4)},
		{"2 ** -1", num(0.5)},
		{"7 % 4 * 2", num(6)},
		{"-7 % 4", num(-3)}, // sign of the dividend
		{"7 % -4", num(3)},
		{"- -3", num(3)},
		{"+age", num(9.5)},
		{"-age", num(-9.5)},
		{"0 * -1", num(0)},
		{"-(age - age)", num(0)},
		{"1.5e1 + .5", num(15.5)},
		{"age * 2", num(19)},
		{"1 / 0", undefined},
		{"0 / 0", undefined},
		{"1 % 0", undefined},
		{"0 ** -1", undefined},
		{"(-8) ** 0.5", undefined},
		{"1e308 * 10", undefined},
		{"1e308 + 1e308", undefined},
		{"1 / 0 > 1 or limp", yes()},
		{"1 / 0 > 1", none(value.Bool, value.CodeUndefined)},
		{"height + weight", none(value.Number, "NM")},
		{"weight + height", none(value.Number, "999")},
		{"weight / 0", none(value.Number, "999")},
		{"1 / 0 + weight", undefined},
		{"-height", none(value.Number, "NM")},
		{"participants.sports_n + 1", none(value.Number, value.CodeNoRow)},
		{"9007199254740992", num(1 << 53)},
	})
	// A negative zero would be a second label for zero.
	for _, source := range []string{"0 * -1", "-0", "ceil(-0.5)", "-(age - age)", "round(-0.2)", "0 / -3"} {
		p, err := Compile(source, child)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Eval(childRow).String(); got != "0" {
			t.Errorf("%s: got %s, want 0", source, got)
		}
	}
}

func TestArithmeticRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"sex ¦+ 'a'", `found sex (text) + "a" (text), expected numbers`, ""},
		{"age ¦- 'a'", "expected numbers", ""},
		{"limp ¦+ swelling", "expected numbers; count_true(a, b) counts conditions", ""},
		{"¦-sex", "found - before sex (text), expected a number", ""},
		{"¦-seen", "expected a number", ""},
		{"¦+limp", "expected a number", ""},
		{"age ¦^ 2", "found ^, expected ** for a power", ""},
		{"seen ¦+ born", "found seen (date) + born (date), expected date + number", ""},
		{"seen ¦* 2", "expected numbers", ""},
		{"3 ¦- seen", "expected date - date or date - number", ""},
		{"seen ¦- '2024-05-01'", `write a date as date("2024-05-01")`, ""},
	})
}
