package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

func TestComparisons(t *testing.T) {
	checkResults(t, []result{
		{"age == 9.5", yes()},
		{"age != 9.5", no()},
		{"age < 9.5", no()},
		{"age <= 9.5", yes()},
		{"age > 9.5", no()},
		{"age >= 9.5", yes()},
		{"0.1 + 0.2 == 0.3", no()}, // compared exactly
		{"sex == 'female'", yes()},
		{`"female" == sex`, yes()},
		{"sex != 'female'", no()},
		{"note == 'anything'", no()},
		{"note == 'x'", yes()},
		{"end_type == 'returned'", none(value.Bool, "DK")},
		{"end_type != 'returned'", none(value.Bool, "DK")},
		{"height > weight", none(value.Bool, "NM")},
		{"weight > height", none(value.Bool, "999")},
		{"grade == '2'", yes()},
		{"'2' == grade", yes()},
		{"limp == true", yes()},
		{"swelling != limp", yes()},
		{"participants.site == 'S2'", yes()},
		{"visits.mode == 'phone'", yes()},
		{"(limp ? 'a' : 'b') == 'a'", yes()},
		{"note == sex", no()},
		{"sex == (limp ? 'male' : note)", no()},
		{"band(age, 6, 8, 10) == '8 to <10'", yes()},
		{"(age > 9) == limp", yes()},
	})
}

func TestComparisonRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"sex == ¦'femal'", `found "femal", expected a word that sex can hold: "female", "male"`, "female"},
		{"¦'femal' == sex", `found "femal"`, "female"},
		{"sex != ¦'Female'", `found "Female"`, "female"},
		{"(limp ? 'left' : 'right') == ¦'lefft'", "expected a word that the other side can hold", "left"},
		{"band(age, 6, 8) == ¦'6 to 8'", "expected a word", "6 to <8"},
		{"'a' == ¦'b'", "can hold", ""},
		{"many == ¦'zz'", `"i", "j", ...`, ""},
		{"age ¦== limp", "expected the same kind on both sides", ""},
		{"sex ¦== heel", "found sex (text) == heel (text), which have no word in common", ""},
		{"sex ¦== 1", `found sex (text) == 1 (number), expected the same kind on both sides; write a category in quotes: "1"`, ""},
		{"1 ¦== sex", "expected the same kind on both sides", ""},
		{"age ¦== '9'", "write a number without quotes: 9", ""},
		{"age ¦== 'NM'", "is_missing(x) and missing_code(x) ask about missing values", ""},
		{"limp ¦== 'true'", "a boolean is a condition by itself", ""},
		{"limp ¦== 1", "a boolean is a condition by itself", ""},
		{"sex ¦< 'male'", "texts have no order", ""},
		{"note ¦>= 'male'", "texts have no order", ""},
		{"limp ¦< swelling", "booleans have no order", ""},
		{"note == ¦''", "an empty cell is missing: write is_missing(note)", ""},
		{"sex == ¦''", "an empty cell is missing: write is_missing(sex)", ""},
		{"limp == swelling ¦== squeeze", "found a second ==, expected one comparison", ""},
		{"sex == ¦female", "found female, expected a variable, or a text in quotes", `"female"`},
		{"¦female == sex", "or a text in quotes", `"female"`},
		{"age ¦= 3", "found =, expected == to compare", ""},
		{"age ¦<> 3", "found <>, expected !=", ""},
		{"age ¦=> 3", "found =>, expected >=", ""},
		{"age ¦=== 3", "found ===, expected ==", ""},
	})
}
