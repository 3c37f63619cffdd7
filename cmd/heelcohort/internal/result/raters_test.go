package result

import "testing"

func TestRatersTerm(t *testing.T) {
	names := []string{"band", "A and B", "A", "B and C", `"A" and `, " and ", "", `"`, "Ann", `B" and "C`, "'a'", "`a`", "`a` and b"}
	terms := map[string]bool{}
	for _, first := range names {
		for _, second := range names {
			term := RatersTerm(first, second)
			if terms[term] {
				t.Errorf("%q stands for two pairs", term)
			}
			terms[term] = true
			if a, b, ok := Raters(term); a != first || b != second || !ok {
				t.Errorf("%q is taken for %q and %q, made of %q and %q", term, a, b, first, second)
			}
		}
	}
	if _, _, ok := Raters("one"); ok {
		t.Error("one name is taken for two")
	}
	if term := RatersTerm("band", "band_second"); term != "band and band_second" {
		t.Errorf("term %q", term)
	}
}
