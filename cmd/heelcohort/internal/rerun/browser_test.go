package rerun

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/browsertest"
	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/run"
)

// pageFacts are what the script in inspect counts.
type pageFacts struct {
	Scripts, Heads, Unnamed, Tables, Width, Window int
	Lang, Title                                    string
	Dangling, Twice                                []string
	Cautions                                       int
}

const inspect = `(() => {
	const all = s => [...document.querySelectorAll(s)];
	const ids = all("[id]").map(e => e.id);
	return {
		Scripts: document.scripts.length,
		Heads: all("table th:not([scope])").length,
		Unnamed: all("table").filter(e => !e.querySelector("caption")).length,
		Tables: all("table").length,
		Width: document.documentElement.scrollWidth,
		Window: window.innerWidth,
		Lang: document.documentElement.lang,
		Title: document.title,
		Dangling: all('a[href^="#"]').map(a => decodeURIComponent(a.getAttribute("href").slice(1))).filter(id => !document.getElementById(id)),
		Twice: ids.filter((id, i) => ids.indexOf(id) !== i),
		Cautions: document.body.innerText.split("Not for diagnosing or treating a child").length - 1,
	};
})()`

// The page in a browser: everything fits a narrow window, nothing is complained
// of or fetched, texts of the study's files do nothing.
func TestPageInBrowser(t *testing.T) {
	browser := browsertest.Start(t)
	long := strings.Repeat("averylongname", 20)
	full := &Report{
		Source: "b.zip", Title: "Heels", Program: "heelcohort test", Recorded: "heelcohort older", Caution: run.Caution, Apart: true,
		Files:   []bundle.File{{Name: "data/" + long + ".csv", Status: bundle.Altered, Recorded: long, Found: long}},
		Counts:  Counts{Same: 1200, Moved: 1},
		Changes: []Change{{Label: "change 1", Kind: DataCell, Place: "data/" + long, Detail: `<script>alert(1)</script> "11" → "12"`, Moved: 1}},
		Rows:    []Row{{ID: "table-1/" + long, Verdict: Moved, Numbers: []Number{{Name: "estimate", Before: 1, After: 2}}, Causes: []string{"change 1"}}},
		Words:   []Word{{Where: "table-1", What: "labels", Before: long, After: "b"}},
	}
	for _, c := range []struct {
		name   string
		report *Report
		tables int
	}{
		{"full", full, 4},
		{"stopped", &Report{Source: "b.zip", Caution: run.Caution, Stopped: "nothing was computed: " + long}, 1},
	} {
		var b bytes.Buffer
		if err := c.report.HTML(&b); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "page.html")
		if err := os.WriteFile(file, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		v := browsertest.Open[pageFacts](t, browser, file, inspect)
		if len(v.Complaints) > 0 || len(v.Fetched) > 0 {
			t.Errorf("%s: the browser complains of %q and fetches %q", c.name, v.Complaints, v.Fetched)
		}
		f := v.Facts
		for _, check := range []struct {
			what      string
			got, want any
		}{
			{"scripts", f.Scripts, 0},
			{"heads without scope", f.Heads, 0},
			{"tables without a name", f.Unnamed, 0},
			{"tables", f.Tables, c.tables},
			{"language", f.Lang, "en"},
			{"title", f.Title, "b.zip: rerun"},
			{"cautions", f.Cautions, 2},
			{"links to nothing", fmt.Sprint(f.Dangling), "[]"},
			{"ids that stand twice", fmt.Sprint(f.Twice), "[]"},
		} {
			if check.got != check.want {
				t.Errorf("%s: %s: %v, want %v", c.name, check.what, check.got, check.want)
			}
		}
		if f.Width > f.Window {
			t.Errorf("%s: the page is %d wide in a window of %d", c.name, f.Width, f.Window)
		}
	}
}
