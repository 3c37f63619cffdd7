package document

import (
	"strings"
	"testing"
)

// TestStringAt looks for the mark @ in a text, asks for its place, and wants
// the place of the mark in the file.
func TestStringAt(t *testing.T) {
	for _, c := range []struct{ file, text string }{
		{"f.yaml", "a: b + c @ d\n"},
		{"f.yaml", "a: 'it''s @ d'\n"},
		{"f.yaml", `a: "é\té\u00e9\x41\"@"`},
		{"f.yaml", "a: |\n    one\n      two\n\n    th@ree\n"},
		{"f.yaml", "a: |\n    on@e\n"},
		{"f.yaml", "a: >-\n  one\n  two @ x\n"},
		{"f.yaml", "a: >-\n  one\n\n  two @ x\n"},
		{"f.yaml", "a: one\n  two\n  thr@ee\nb: 1"},
		{"f.yaml", "a: 'one\n  two\n\n\n  thr@ee'\nb: 1"},
		{"f.yaml", "a: \"one\n  tw@o\"\nb: 1"},
		{"f.json", `{"b": 1, "a": "x\ud834\udd1e\n\u00e9 @"}`},
		{"f.json", "{\r\n\t\"a\": \"x@y\"}"},
	} {
		n, err := Parse(c.file, []byte(c.text))
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		var into struct {
			A String `doc:"a"`
			B int    `doc:"b"`
		}
		if err := Decode(n, &into); err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		before, _, ok := strings.Cut(into.A.Value, "@")
		if !ok {
			t.Errorf("%q lost its mark: %q", c.text, into.A.Value)
			continue
		}
		line := 1 + strings.Count(before, "\n")
		column := 1 + len([]rune(before[strings.LastIndexByte(before, '\n')+1:]))
		inFile, _, _ := strings.Cut(c.text, "@")
		want := Position{
			File: c.file, Line: 1 + strings.Count(inFile, "\n"),
			Column: 1 + len([]rune(inFile[strings.LastIndexByte(inFile, '\n')+1:])),
		}
		if got := into.A.At(line, column); got != want {
			t.Errorf("%q: line %d column %d of %q is at %v, want %v", c.text, line, column, into.A.Value, got, want)
		}
	}
}

func TestStringAtWithoutFile(t *testing.T) {
	s := String{Value: "a\nb", Position: Position{"f", 3, 7}}
	if got := s.At(1, 2); got != (Position{"f", 3, 8}) {
		t.Errorf("first line: %v", got)
	}
	if got := s.At(2, 1); got != (Position{"f", 4, 1}) {
		t.Errorf("second line: %v", got)
	}
}
