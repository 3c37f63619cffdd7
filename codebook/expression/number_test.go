package expression

import (
	"fmt"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"heelcohort/codebook/value"
)

func TestNumberFunctions(t *testing.T) {
	undefined := none(value.Number, value.CodeUndefined)
	missing := none(value.Number, "NM")
	checkResults(t, []result{
		{"abs(-3)", num(3)},
		{"ceil(1.2)", num(2)},
		{"ceil(-0.5)", num(0)},
		{"floor(-1.2)", num(-2)},
		{"sqrt(16)", num(4)},
		{"sqrt(-1)", undefined},
		{"log(1)", num(0)},
		{"log(0)", undefined},
		{"log(-1)", undefined},
		{"exp(0)", num(1)},
		{"exp(1000)", undefined},
		{"exp(-1000)", num(0)},
		{"difference(5, 7)", num(-2)},
		{"difference(height, weight)", missing},
		{"between(age, 9.5, 10)", yes()},
		{"between(age, 9, 9.5)", yes()},
		{"between(age, 9.6, 10)", no()},
		{"between(height, 1, 2)", none(value.Bool, "NM")},
		{"between(age, 10, height)", none(value.Bool, "NM")},
		{"between(age, height, weight)", none(value.Bool, "NM")},
		{"min(3, 1, 2)", num(1)},
		{"max(3, 1, 2)", num(3)},
		{"min(age, height)", missing},
		{"max(age, weight, height)", none(value.Number, "999")},
		{"sum(1, 2, 3, 4)", num(10)},
		{"sum(1, height, weight)", missing},
		{"sum(1e308, 1e308)", undefined},
		{"mean(1, 2, 6)", num(3)},
		{"mean(weight, height)", none(value.Number, "999")},
		{"count_true(limp, swelling, age > 9)", num(2)},
		{"count_true(swelling)", num(0)},
		{"count_true(limp, squeeze)", none(value.Number, "RF")},
		{"round(height, 1)", missing},
		{"abs(height)", missing},
	})
}

func TestNumberRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"abs(¦sex)", "found sex (text) as argument 1 of abs(x), expected a number", ""},
		{"¦abs(1, 2)", "found abs with 2 arguments, expected abs(x)", ""},
		{"¦sum(1)", "found sum with 1 argument, expected sum(a, b, ...)", ""},
		{"sum(1, ¦limp)", "found limp (boolean) as argument 2", ""},
		{"difference(1, ¦seen)", "found seen (date) as argument 2", ""},
		{"difference(¦sex, sex)", "expected a number or a date", ""},
		{"between(age, 8, ¦6)", "found 6 after 8, expected the greater bound last", ""},
		{"count_true(¦age)", "expected a boolean", ""},
		{"between(¦sex, 1, 2)", "expected a number or a date", ""},
		{"max(¦sex, sex)", "expected a number or a date", ""},
		{"mean(¦sex, sex)", "expected a number", ""},
		{"round(¦sex, 1)", "expected a number", ""},
		{"round(age, ¦height)", "expected an integer from 0 to 15", ""},
		{"round(age, ¦1.5)", "expected an integer from 0 to 15", ""},
		{"round(age, ¦-1)", "expected an integer from 0 to 15", ""},
		{"round(age, ¦'1')", "expected an integer from 0 to 15", ""},
	})
}

// By hand, from the decimal form.
func TestRound(t *testing.T) {
	for _, test := range []struct {
		x      float64
		digits int
		want   float64
	}{
		{2.675, 2, 2.68},
		{1.005, 2, 1.01},
		{0.5, 0, 1},
		{-0.5, 0, -1},
		{1.5, 0, 2},
		{2.5, 0, 3},
		{2.4999, 0, 2},
		{9.995, 2, 10},
		{99.95, 1, 100},
		{-99.95, 1, -100},
		{0.05, 1, 0.1},
		{0.04, 1, 0},
		{123, 2, 123},
		{123.4, 2, 123.4},
		{1e300, 3, 1e300},
		{1e-300, 15, 0},
		{0.1 + 0.2, 15, 0.3},
	} {
		if got := roundDecimal(test.x, test.digits); got != test.want {
			t.Errorf("round(%v, %d): got %v, want %v", test.x, test.digits, got, test.want)
		}
	}
}

// Against rational arithmetic on the decimal form.
func TestRoundAgainstRationals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := fmt.Sprintf("%d.%s", rapid.IntRange(0, 99999).Draw(t, "whole"), rapid.StringOfN(rapid.RuneFrom([]rune("0123456789")), 1, 8, -1).Draw(t, "part"))
		digits := rapid.IntRange(0, 9).Draw(t, "digits")
		exact, _ := new(big.Rat).SetString(text)
		scale := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(digits)), nil))
		scaled := new(big.Rat).Add(new(big.Rat).Mul(exact, scale), big.NewRat(1, 2))
		whole := new(big.Int).Quo(scaled.Num(), scaled.Denom()) // floor of x*10^d + 1/2, as x >= 0
		want, _ := new(big.Rat).Quo(new(big.Rat).SetInt(whole), scale).Float64()
		p, err := Compile(fmt.Sprintf("round(%s, %d)", text, digits), nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := p.Eval(nil); got != num(want) {
			t.Fatalf("round(%s, %d): got %v, want %v", text, digits, got, want)
		}
	})
}
