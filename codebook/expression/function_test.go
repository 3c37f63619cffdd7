package expression

import (
	"strings"
	"testing"
)

func TestEveryFunctionIsDocumented(t *testing.T) {
	list := Functions()
	if len(list) < 19 {
		t.Errorf("got %d functions, want at least 19", len(list))
	}
	for i, f := range list {
		if f.Name == "" || !strings.HasPrefix(f.Signature, f.Name+"(") || !strings.HasSuffix(f.Signature, ")") {
			t.Errorf("function %q: got signature %q", f.Name, f.Signature)
		}
		if len(f.Doc) < 20 || !strings.HasSuffix(f.Doc, ".") {
			t.Errorf("function %q: got description %q, want a sentence", f.Name, f.Doc)
		}
		if i > 0 && list[i-1].Name >= f.Name {
			t.Errorf("function %q stands behind %q", f.Name, list[i-1].Name)
		}
		if entry, ok := lookup(f.Name); !ok || entry.least < 1 || entry.most >= 0 && entry.most < entry.least || entry.build == nil {
			t.Errorf("function %q: got entry %+v", f.Name, entry)
		}
	}
}

func TestCallRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"¦differense(1, 2)", "found differense, expected a function", "difference"},
		{"1 + ¦bnd(age, 1, 2)", "found bnd, expected a function", "band"},
		{"¦age(1)", "found the variable age before a bracket, expected a function", ""},
		{"¦abs", "found the function abs without arguments, expected abs(x)", ""},
		{"¦len(sex)", "expected a function", ""},
		{"¦reduce(age, age)", "expected a function", ""},
		{"¦now()", "expected a function", ""},
		{"¦filter(age, limp)", "expected a function", ""},
		{"filter(age, ¦# > 1)", "found #", ""},
		{"¦participants.site()", "found a call of a member, expected a function", ""},
		{"age ¦| abs()", "found |, expected or", ""},
		{"¦::abs(1)", "found ::", ""},
	})
}
