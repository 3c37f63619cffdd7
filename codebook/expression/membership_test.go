package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

func TestMembership(t *testing.T) {
	checkResults(t, []result{
		{"age in [1, 9.5]", yes()},
		{"age in [1, -9.5]", no()},
		{"age not in [1, 2]", yes()},
		{"not (age in [1, 2])", yes()},
		{"sex in ['female']", yes()},
		{"sex not in ['female', 'male']", no()},
		{"note in ['a', 'b']", no()},
		{"end_type in ['lost']", none(value.Bool, "DK")},
		{"end_type not in ['lost']", none(value.Bool, "DK")},
		{"age + 1 in [10.5] and limp", yes()},
		{"end_type in ['lost'] or limp", yes()},
	})
	checkRefusals(t, []refusal{
		{"sex in ['female', ¦'mal']", "expected a word that sex can hold", "male"},
		{"sex in [¦female]", "or a text in quotes", `"female"`},
		{"sex in ['male', ¦'male']", "found male a second time", ""},
		{"age in [1, ¦1.0]", "found 1 a second time", ""},
		{"age in ¦[]", "found an empty list", ""},
		{"age in [¦'1']", "expected the same kind", ""},
		{"age in [1, ¦height]", "expected a literal; write x == a or x == b", ""},
		{"age in ¦height", "found no list after in", ""},
		{"limp ¦in [true]", "found limp (boolean) in a list", ""},
		{"¦not age in [1]", "found not before age (number)", ""},
		{"¦[1, 2]", "a list stands only after in", ""},
		{"age == ¦[1]", "a list stands only after in", ""},
		{"age in 1¦..5", "expected between(x, low, high)", ""},
		{"note ¦matches 'a'", "found the reserved word matches", ""},
		{"note ¦contains 'a'", "found the reserved word contains", ""},
		{"note not ¦startsWith 'a'", "found the reserved word startsWith", ""},
	})
}
