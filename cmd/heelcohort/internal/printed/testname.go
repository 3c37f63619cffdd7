package printed

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// namedTests are tests whose measure is the names of people, joined.
var namedTests = []string{"gehan-breslow", "tarone-ware", "peto-peto", "fleming-harrington"}

// TestName is the measure of a test as people read it: "Log-rank test",
// "Tarone-Ware test".
func TestName(measure string) string {
	if !strings.Contains(strings.ToLower(measure), "test") {
		measure += " test"
	}
	name, rest, _ := strings.Cut(measure, " ")
	parts := strings.Split(name, "-")
	for i, part := range parts {
		if part == "" || i > 0 && !slices.Contains(namedTests, name) {
			break
		}
		first, size := utf8.DecodeRuneInString(part)
		parts[i] = string(unicode.ToUpper(first)) + part[size:]
	}
	return strings.Join(parts, "-") + " " + rest
}
