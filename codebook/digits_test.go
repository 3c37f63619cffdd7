package codebook

import (
	"regexp"
	"testing"

	"pgregory.net/rapid"
)

// The patterns say the same in other words.
func TestDigits(t *testing.T) {
	decimal := regexp.MustCompile(`^[-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)?$`)
	whole := regexp.MustCompile(`^[-+]?[0-9]+$`)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.StringMatching(`[-+.eE0-9 x]{0,8}`), rapid.StringMatching(`[-+]?[0-9]*[.]?[0-9]*([eE][-+]?[0-9]*)?`)).Draw(t, "text")
		if got, want := isDecimal(text), decimal.MatchString(text); got != want {
			t.Fatalf("%q: decimal %v, want %v", text, got, want)
		}
		if got, want := isWhole(text), whole.MatchString(text); got != want {
			t.Fatalf("%q: whole %v, want %v", text, got, want)
		}
	})
}
