package document

import (
	"math/rand/v2"
	"strings"
	"testing"
)

func TestNearest(t *testing.T) {
	for _, c := range []struct{ word, words, want string }{
		{"kynd", "id kind table", "kind"},
		{"KIND", "id kind", "kind"},
		{"knid", "kind", "kind"},
		{"titel", "title ties", "title"},
		{"titel", "tiles title", "title"},
		{"left", "right medial", ""},
		{"a", "b c", ""},
		{"a", "ab b", "ab"},
		{"cat", "bat hat", "bat"},
		{"hat", "hat bat", "hat"},
		{"adherence_pct", "adherence adherence_pc", "adherence_pc"},
		{"participent", "participants participant", "participant"},
		{"", "a", ""},
		{"x", "", ""},
		{"é", "É", "É"},
	} {
		if got := Nearest(c.word, strings.Fields(c.words)); got != c.want {
			t.Errorf("nearest to %q of %q is %q, want %q", c.word, c.words, got, c.want)
		}
	}
	if got := Nearest(strings.Repeat("x", 100000), []string{strings.Repeat("x", 100001)}); got != "" {
		t.Errorf("a text that is no word has the nearest word %.10q", got)
	}
}

// TestDistance compares with the definition, computed without a table.
func TestDistance(t *testing.T) {
	var plain func(a, b string) int
	plain = func(a, b string) int {
		if a == "" || b == "" {
			return len(a) + len(b)
		}
		m, n := len(a)-1, len(b)-1
		cost := 1
		if a[m] == b[n] {
			cost = 0
		}
		d := min(plain(a[:m], b)+1, plain(a, b[:n])+1, plain(a[:m], b[:n])+cost)
		if m > 0 && n > 0 && a[m] == b[n-1] && a[m-1] == b[n] {
			d = min(d, plain(a[:m-1], b[:n-1])+1)
		}
		return d
	}
	r := rand.New(rand.NewPCG(1, 2))
	word := func() string {
		b := make([]byte, r.IntN(6))
		for i := range b {
			b[i] = "abc"[r.IntN(3)]
		}
		return string(b)
	}
	for range 500 {
		a, b := word(), word()
		if got, want := distance([]rune(a), []rune(b)), plain(a, b); got != want {
			t.Fatalf("distance of %q and %q is %d, want %d", a, b, got, want)
		}
	}
}
