package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

// Truth tables of Kleene's strong logic, written out by hand: T true, F false,
// A and B missing with these codes. The code of a missing result is that of
// the first missing operand.
func TestTruthTables(t *testing.T) {
	scope := study{{"", "p", 0, value.Bool, nil}, {"", "q", 1, value.Bool, nil}}
	truth := map[byte]value.Value{'T': yes(), 'F': no(), 'A': none(value.Bool, "A"), 'B': none(value.Bool, "B")}
	for _, table := range []struct {
		sources []string
		rows    []string // p, q, result
	}{
		{[]string{"p and q", "p && q"}, []string{"TTT", "TFF", "TBB", "FTF", "FFF", "FBF", "ATA", "AFF", "ABA"}},
		{[]string{"p or q", "p || q"}, []string{"TTT", "TFT", "TBT", "FTT", "FFF", "FBB", "ATT", "AFA", "ABA"}},
		{[]string{"not p", "!p"}, []string{"TTF", "FTT", "ATA"}},
		{[]string{"p == q"}, []string{"TTT", "TFF", "TBB", "FTF", "FFT", "FBB", "ATA", "AFA", "ABA"}},
		{[]string{"p != q"}, []string{"TTF", "TFT", "TBB", "FTT", "FFF", "FBB", "ATA", "AFA", "ABA"}},
		{[]string{"p ? q : not q"}, []string{"TTT", "TFF", "TBB", "FTF", "FFT", "FBB", "ATA", "AFA", "ABA"}},
		{[]string{"p ? true : true"}, []string{"TTT", "FTT", "ATA"}},
		{[]string{"is_missing(p)"}, []string{"TTF", "FTF", "ATT"}},
		{[]string{"coalesce(p, q)"}, []string{"TTT", "TFT", "TBT", "FTF", "FFF", "FBF", "ATT", "AFF", "ABA"}},
	} {
		for _, source := range table.sources {
			p, err := Compile(source, scope)
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range table.rows {
				if got := p.Eval(values{truth[r[0]], truth[r[1]]}); got != truth[r[2]] {
					t.Errorf("%s with p=%c, q=%c: got %+v, want %c", source, r[0], r[1], got, r[2])
				}
			}
		}
	}
}

func TestLogic(t *testing.T) {
	checkResults(t, []result{
		{"true", yes()},
		{"limp and not swelling", yes()},
		{"limp and swelling or limp", yes()},   // (limp and swelling) or limp
		{"limp or limp and swelling", yes()},   // limp or (limp and swelling)
		{"not swelling and swelling", no()},    // (not swelling) and swelling
		{"not (swelling and swelling)", yes()}, //
		{"not limp == swelling", yes()},        // the same either way
		{"age > 9 or squeeze", yes()},          //
		{"squeeze or age > 9", yes()},          //
		{"age > 10 and squeeze", no()},         //
		{"squeeze and height > 1", none(value.Bool, "RF")},
		{"height > 1 and squeeze", none(value.Bool, "NM")},
		{"limp ? age : height", num(9.5)},
		{"swelling ? age : height", none(value.Number, "NM")},
		{"squeeze ? 1 : 1", none(value.Number, "RF")},
		{"swelling ? 'a' : limp ? 'b' : 'c'", value.Str("b")},
		{"limp ? swelling ? 1 : 2 : 3", num(2)},
		{"limp or squeeze ? 1 : 2", num(1)},
	})
}

func TestLogicRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"¦age and limp", "found age (number), expected a condition such as age > 0", ""},
		{"limp or ¦sex", `found sex (text), expected a condition such as sex == "female"`, ""},
		{"sex == 'male' or ¦'female'", `found "female" (text), expected a condition`, ""},
		{"limp ? ¦agee : 2", "found agee", "age"},
		{"limp ? 2 : ¦agee", "found agee", "age"},
		{"¦agee ? 1 : 2", "found agee", "age"},
		{"¦age ? 1 : 2", "expected a condition", ""},
		{"limp ? 1 : ¦'a'", `found "a" (text) after 1 (number), expected both branches of one kind`, ""},
		{"¦not sex == 'male'", "found not before sex (text), expected a condition after it; write not (a == b)", ""},
		{"¦!age > 3", "found ! before age (number)", ""},
		{"limp ¦?: swelling", "found ?:, expected condition ? a : b", ""},
		{"¦limp ? : swelling", "in a form that is not supported, expected condition ? a : b", ""},
		{"¦if limp { 1 } else { 2 }", "found the reserved word if, expected condition ? a : b", ""},
	})
}
