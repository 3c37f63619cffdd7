package stats

import (
	"fmt"
	"strings"
	"testing"
)

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// panics checks that f panics with the package's prefix and some words.
func panics(t *testing.T, words string, f func()) {
	t.Helper()
	defer func() {
		t.Helper()
		text := fmt.Sprint(recover())
		if !strings.HasPrefix(text, "stats: ") || !strings.Contains(text, words) {
			t.Errorf("panic %q, want one of this package about %q", text, words)
		}
	}()
	f()
}

func warned(warnings []Warning, code string) bool {
	for _, w := range warnings {
		if w.Code == code {
			return true
		}
	}
	return false
}
