package result

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

func TestAddress(t *testing.T) {
	groups := func(pairs ...string) (out []Group) {
		for i := 0; i < len(pairs); i += 2 {
			out = append(out, Group{pairs[i], pairs[i+1]})
		}
		return out
	}
	for _, test := range []struct {
		groups                  []Group
		variable, term, measure string
		at                      Number
		want                    string
	}{
		{nil, "", "", "count", None(), "a/p/count"},
		{nil, "age", "", "mean", None(), "a/p/age/mean"},
		{nil, "sex", "male", "count", None(), "a/p/sex:male/count"},
		{nil, "", "male", "risk", None(), "a/p/:male/risk"},
		{groups("age", "[10, 12)", "sport", "football"), "", "", "incidence rate", None(), "a/p/age=[10, 12),sport=football/incidence rate"},
		{groups("season", "2021/22"), "", "", "survival", 28, "a/p/season=2021%2F22/survival@28"},
		{groups("a,b", "x,y"), "c=d:e", "f:g=h", "m@n", 0.5, "a/p/a%2Cb=x%2Cy/c%3Dd%3Ae:f:g=h/m%40n@0.5"},
		{groups("a", "≥5, <9%"), "", " ö", "m", None(), "a/p/a=≥5, <9%25/:%20ö/m"},
	} {
		r := NewRow("a", "p", test.measure)
		r.Groups, r.Variable, r.Term, r.At = test.groups, test.variable, test.term, test.at
		if got := r.Address(); got != test.want {
			t.Errorf("address %q, want %q", got, test.want)
		}
	}
}

// TestAddressInjective: rows with different keys have different addresses, and
// equal keys have equal ones. Texts come from few signs, so that keys which
// differ only in where a separator stands are drawn often.
func TestAddressInjective(t *testing.T) {
	text := rapid.StringOfN(rapid.RuneFrom([]rune("a,/=:@% ")), 0, 3, -1)
	draw := func(t *rapid.T) Row {
		r := NewRow("x", "p", "m"+text.Draw(t, "measure"))
		for range rapid.IntRange(0, 2).Draw(t, "groups") {
			r.Groups = append(r.Groups, Group{text.Draw(t, "variable"), text.Draw(t, "level")})
		}
		r.Variable, r.Term = text.Draw(t, "variable"), text.Draw(t, "term")
		if rapid.Bool().Draw(t, "timed") {
			r.At = Number(rapid.IntRange(0, 3).Draw(t, "at"))
		}
		return r
	}
	key := func(r Row) string {
		return fmt.Sprintf("%q %q %q %q %q", r.Groups, r.Variable, r.Term, r.Measure, r.At.String())
	}
	seen := map[string]string{} // key by address
	rapid.Check(t, func(t *rapid.T) {
		for range 50 {
			r := draw(t)
			address, k := r.Address(), key(r)
			if before, ok := seen[address]; ok && before != k {
				t.Fatalf("address %s belongs to %s and %s", address, before, k)
			}
			seen[address] = k
		}
	})
}
