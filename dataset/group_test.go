package dataset

import (
	"encoding/csv"
	"strings"
	"testing"
)

func TestGroup(t *testing.T) {
	f := func(rule string, s Severity, variable string, row int) Finding {
		return Finding{Rule: rule, Severity: s, Table: "t", Variable: variable, Where: Origin{Row: row}}
	}
	groups := Group([]Finding{
		f("empty row", Warning, "", 2), f("empty row", Warning, "", 4), f("empty row", Warning, "", 9),
		f("type", Error, "age", 3), f("maximum", Error, "age", 5), f("type", Error, "height", 5), f("type", Error, "age", 7),
	})
	var got []string
	for _, g := range groups {
		got = append(got, g.Rule+" "+g.Variable)
	}
	want := "type age, type height, maximum age, empty row "
	if s := strings.Join(got, ", "); s != want {
		t.Errorf("groups %q, want %q", s, want)
	}
	if g := groups[0]; g.Count != 2 || g.First[0].Where.Row != 3 || g.First[1].Where.Row != 7 {
		t.Errorf("group %+v", g)
	}
	if groups := Group(nil); groups != nil {
		t.Errorf("groups of nothing %v", groups)
	}
}

func TestWriteFindings(t *testing.T) {
	found := []Finding{
		{
			Rule: "type", Table: "t", Variable: "age", Where: Origin{"data/a.xlsx", "s", 7, 2},
			Found: "=1+1\n\"x\"", Expected: "number", Nearest: "", Message: "a, b",
		},
		{Rule: "empty row", Severity: Warning, Where: Origin{"b.csv", "", 3, 0}},
	}
	var b strings.Builder
	if err := WriteFindings(&b, found); err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{
		"rule|severity|file|sheet|cell|table|variable|found|expected|nearest|message|meaning",
		"type|error|data/a.xlsx|s|B7|t|age|'=1+1\n\"x\"|number||a, b|" + ruleTexts[0].Sentence,
		"empty row|warning|b.csv||line 3|||||||Empty rows stand between rows of data and were left out.",
	} {
		if got := strings.Join(records[i], "|"); got != want {
			t.Errorf("line %d is %q, want %q", i+1, got, want)
		}
	}
}
