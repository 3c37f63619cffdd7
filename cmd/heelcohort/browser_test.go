package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/browsertest"
)

// A page is what a browser saw of a report.
type page struct {
	Tables, Figures []string // ids of those that can be seen
	Text            string
	Scripts         int
}

const look = `(() => {
	const seen = e => { const r = e.getBoundingClientRect(); return r.width > 50 && r.height > 20; };
	const ids = s => [...document.querySelectorAll(s)].filter(seen).map(e => e.id);
	return {Tables: ids(".sheet"), Figures: ids("figure"), Text: document.body.innerText, Scripts: document.scripts.length};
})()`

// The report of the demonstration, whose codebook has a label full of markup,
// shows every table and figure in a browser, asks the network for nothing and
// makes no complaint; the label arrives as text.
func TestReportInBrowser(t *testing.T) {
	browser := browsertest.Start(t)
	const label = `<script>alert(1)</script><b>Sex`
	dir := filepath.Join(t.TempDir(), "study")
	heelcohort(t, exitDone, "demo", dir)
	book := filepath.Join(dir, "codebook.yaml")
	text, err := os.ReadFile(book)
	if err != nil {
		t.Fatal(err)
	}
	marked := strings.Replace(string(text), "title: Sex", "title: '"+label+"'", 1)
	if marked == string(text) {
		t.Fatal("the codebook has no label to replace")
	}
	if err := os.WriteFile(book, []byte(marked), 0o644); err != nil {
		t.Fatal(err)
	}
	heelcohort(t, exitDone, "run", dir)
	res := readResults(t, dir)

	v := browsertest.Open[page](t, browser, filepath.Join(dir, "results", "report.html"), look)
	if len(v.Complaints) > 0 || len(v.Fetched) > 0 {
		t.Errorf("the browser complains of %q and fetches %q", v.Complaints, v.Fetched)
	}
	p := v.Facts
	if !strings.Contains(p.Text, label) || p.Scripts != 0 {
		t.Errorf("the label did not arrive as text; %d scripts", p.Scripts)
	}
	for _, a := range res.Analyses {
		if !slices.ContainsFunc(p.Tables, func(id string) bool { return strings.HasSuffix(id, a.ID) }) {
			t.Errorf("no table of %s among %q", a.ID, p.Tables)
		}
		for _, id := range a.Figures {
			if !slices.ContainsFunc(p.Figures, func(shown string) bool { return strings.HasSuffix(shown, id) }) {
				t.Errorf("no figure %s among %q", id, p.Figures)
			}
		}
	}
}
