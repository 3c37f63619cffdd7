package document

import (
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// TestSourcePlaces compares places in texts with long and short lines with
// those counted character by character.
func TestSourcePlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		piece := rapid.SampledFrom([]string{"a", "ä", "世", "🦶", "\n", strings.Repeat("x", stride-1), strings.Repeat("ü", stride), strings.Repeat("世", 700)})
		text := strings.Join(rapid.SliceOfN(piece, 0, 30).Draw(t, "pieces"), "")
		s := newSource("f", []byte(text))
		line, column := 1, 1
		for i, r := range text + " " {
			if got := s.at(i); got.Line != line || got.Column != column {
				t.Fatalf("byte %d is at %v, want %d:%d", i, got, line, column)
			}
			if got := s.offset(line, column); got != i {
				t.Fatalf("%d:%d is byte %d, want %d", line, column, got, i)
			}
			column++
			if r == '\n' {
				if got := s.offset(line, column+5); got != i {
					t.Fatalf("beyond line %d is byte %d, want its end %d", line, got, i)
				}
				line, column = line+1, 1
			}
		}
		if n := utf8.RuneCountInString(s.excerpt(Position{Line: 1, Column: 1})); n > 2*excerptWidth+2 {
			t.Fatalf("an excerpt of %d characters", n)
		}
	})
}

// TestLimits wants documents beyond each limit refused, and those at it read.
func TestLimits(t *testing.T) {
	keys := func(n int, format string) string {
		var b strings.Builder
		for range n {
			b.WriteString(strings.ReplaceAll(format, "N", strings.Repeat("k", 1+b.Len()%7)+itoa(b.Len())))
		}
		return b.String()
	}
	for _, c := range []struct{ name, text, want string }{
		{"empty lines", "a: 1" + strings.Repeat("\n", maxEmpty+1) + "b: 2", ""},
		{"too many empty lines", "a: 1" + strings.Repeat("\n", maxEmpty+2) + "b: 2", "empty lines in a row"},
		{"angles", "a: " + strings.Repeat("<", maxAngles), ""},
		{"too many angles", "a: " + strings.Repeat("<", maxAngles+1), "in a row"},
		{"keys", keys(MaxKeys, "N: 1\n"), ""},
		{"too many keys", keys(MaxKeys+1, "N: 1\n"), "keys in one map"},
		{"too many keys in braces", "a: {" + keys(MaxKeys+1, "N: 1, ") + "}", "keys in one map"},
		{"keys of many maps", "a:\n" + strings.Repeat("  - b: 1\n    c: 2\n", MaxKeys+1), ""},
		{"keys of many maps at the margin", "a:\n" + strings.Repeat("- b: 1\n  c: 2\n", MaxKeys+1), ""},
		{"too many marks", "a: '" + strings.Repeat(",", MaxMarks) + "'", "commas, colons"},
	} {
		_, err := Parse("f.yaml", []byte(c.text))
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
	if _, err := Parse("f.json", []byte("["+strings.Repeat("1,", MaxValues)+"1]")); err == nil || !strings.Contains(err.Error(), "more than") {
		t.Errorf("too many values: %v", err)
	}
}

func itoa(n int) string {
	if n < 10 {
		return string(rune('0' + n))
	}
	return itoa(n/10) + string(rune('0'+n%10))
}
