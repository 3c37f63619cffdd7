package rerun

import (
	"slices"
	"testing"

	"heelcohort/codebook/document"
)

// What a change of a document is told as.
func TestDifferences(t *testing.T) {
	const before = `title: T
analyses:
  - {id: a, level: 0.95, by: [x, y]}
  - {id: b, kind: k}
list: [[1, 2], [3]]
same: [p, p]
`
	for name, c := range map[string]struct {
		after string
		want  []string
	}{
		"nothing": {before, nil},
		"layout": {`# a comment
same:
  - p
  - p
list: [[1, 2], [3]]
analyses:
  - id: a
    by: [x, y]
    level: 0.95
  - {kind: k, id: b}
title: "T"
`, nil},
		"scalar":  {"title: U\n" + before[9:], []string{`1 title: "T" → "U"`}},
		"kind":    {"title: 1\n" + before[9:], []string{`1 title: "T" → 1`}},
		"removed": {before[9:], []string{`1 title: "T" removed`}},
		"in a list": {`title: T
analyses:
  - {id: c, kind: k}
  - {id: b, kind: k}
  - {id: a, level: 0.9, by: [y, x, z]}
list: [[1, 2, 3]]
same: [p]
`, []string{
			`5 analyses[a].level: 0.95 → 0.9`,
			`5 analyses[a].by[z]: "z" added`,
			`5 analyses[a].by.order: x, y → y, x`,
			`3 analyses[c]: {id: "c", kind: "k"} added`,
			`4 analyses.order: a, b → b, a`,
			`6 list[1][3]: 3 added`,
			`5 list[2]: [3] removed`,
			`6 same[2]: "p" removed`,
		}},
	} {
		a, err := document.Parse("a.yaml", []byte(before))
		if err != nil {
			t.Fatal(err)
		}
		b, err := document.Parse("b.yaml", []byte(c.after))
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, d := range differences(a, b) {
			got = append(got, string(rune('0'+d.at.Line))+" "+d.text())
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}
