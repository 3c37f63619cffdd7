package report

import (
	"bytes"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// withInstruments is a run that scored two instruments, the second with doubts.
func withInstruments(t *testing.T) Input {
	t.Helper()
	in := saltmarsh(t)
	res := *in.Results
	res.Instruments = []result.Instrument{
		{
			Table: "participants", Variable: "fpi_r", Name: "foot-posture-total", Line: 12, Values: 40,
			Methods: "A total is the sum of its six items.", Rights: "The form is <protected>.",
			References: []result.Reference{{Key: "Redmond 2006", Text: "Redmond AC, Crosbie J, Ouvrier RA. 2006."}},
			Missing:    []result.MissingCount{{Code: "", N: 2}, {Code: "NM", N: 3}},
		},
		{
			Table: "participants", Variable: "pain", Name: "pain-score", Line: 13, Values: 45,
			Methods: "Pain is scored in mm.", Rights: "Free.",
			Settings: []result.Setting{{Key: "scale", Value: "vas", Written: true}, {Key: "recorded", Value: "score"}},
			Warnings: []string{"They may be in cm."},
		},
	}
	in.Results = &res
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	return in
}

func TestInstrumentsInMethods(t *testing.T) {
	var out bytes.Buffer
	if err := Methods(&out, withInstruments(t)); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	for _, want := range []string{
		"\nA total is the sum of its six items. Pain is scored in mm. ",
		"- participants.fpi_r (foot-posture-total, plan line 12): 40 with a value; missing: empty 2, NM 3. Rights: The form is \\<protected\\>.\n",
		"- participants.pain (pain-score, plan line 13): 45 with a value. Choices: scale: vas; recorded: score (default). *Doubt:* They may be in cm. Rights: Free.\n",
		"\n1. Redmond AC, Crosbie J, Ouvrier RA. 2006.\n",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the methods lack %q:\n%s", want, text)
		}
	}
}

func TestInstrumentsOnPage(t *testing.T) {
	var out bytes.Buffer
	if err := HTML(&out, withInstruments(t)); err != nil {
		t.Fatal(err)
	}
	page := out.String()
	for _, want := range []string{
		`<li><a href="#instruments">Scores of instruments</a></li>`,
		`<section id="instruments">`,
		"participants.fpi_r", "empty 2, NM 3", "The form is &lt;protected&gt;.", "They may be in cm.",
		`<li id="ref-1">Redmond AC`,
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	var plain bytes.Buffer
	if err := HTML(&plain, saltmarsh(t)); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(plain.String(), "instruments") {
		t.Error("a page without instruments names them")
	}
}

func TestInstrumentsInWorkbook(t *testing.T) {
	for _, s := range bookSheets(withInstruments(t)) {
		if s.ID != "instruments" {
			continue
		}
		if len(s.Rows) != 2 || len(s.Columns) != 7 || len(s.Notes) != 1 {
			t.Errorf("%d rows, %d columns, %d notes", len(s.Rows), len(s.Columns), len(s.Notes))
		}
		return
	}
	t.Error("no sheet of instruments")
}
