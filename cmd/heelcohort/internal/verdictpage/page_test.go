package verdictpage

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/verdict"
)

// Texts of other people's tables do nothing on the page, and every number says
// its row.
func TestHTML(t *testing.T) {
	in := Input{
		Program: "heelcohort", Caution: "For research.", Printed: "t.csv", Inner: true,
		Questions: []verdict.Question{{Kind: verdict.AskTotal, Where: "t.csv, line 2", Text: "<script>alert(1)</script>\u202e", Ask: "Is it so?"}},
		Report: &verdict.Report{Cells: []verdict.Cell{{
			Where: "t.csv, line 3", Text: "<b>1</b>", Searched: true, Explanations: []verdict.Explanation{{Kind: verdict.KindLevel, Text: "limits at 90% CI"}},
			Numbers: []verdict.Number{{Printed: "1", Address: "a/b/mean", Part: "value", Times: 1, Result: "2", Reprinted: "2", Verdict: verdict.Differs}},
		}}},
	}
	in.Counts = CountsOf(in.Report)
	if in.Counts.Differs != 1 || in.Counts.Explained != 1 {
		t.Errorf("counts %+v", in.Counts)
	}
	var page, text bytes.Buffer
	if err := HTML(&page, in); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`data-row="a/b/mean"`, "For research.", "Would follow from another confidence level: limits at 90% CI", "&lt;script&gt;", `\u202e`, "differs: the result is printed 2"} {
		if !strings.Contains(page.String(), want) {
			t.Errorf("the page has no %q", want)
		}
	}
	if strings.Contains(page.String(), "<script") || strings.Contains(page.String(), "\u202e") {
		t.Error("the page does what a text says")
	}
	if err := JSON(&text, in); err != nil || !json.Valid(text.Bytes()) {
		t.Errorf("JSON: %v: %s", err, text.String())
	}
}
