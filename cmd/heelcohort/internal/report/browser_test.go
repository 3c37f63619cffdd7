package report

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"heelcohort/cmd/heelcohort/internal/browsertest"
)

// pageFacts are what the script in inspect counts.
type pageFacts struct {
	Tables, Figures, Scripts, Handlers, Captions, Heads, Unlabelled, Rows, Bold int
	Lang, Title, Script                                                         string
	Jumps, Dangling                                                             []string
	Sheets, Drawings                                                            []string // ids of those that can be seen
	Width, Window                                                               int
}

const inspect = `(() => {
	const all = s => [...document.querySelectorAll(s)];
	const seen = e => { const r = e.getBoundingClientRect(); return r.width > 50 && r.height > 20; };
	let level = 0;
	const jumps = [];
	for (const h of all("h1,h2,h3,h4")) {
		const n = +h.tagName[1];
		if (n > level + 1) jumps.push(h.textContent);
		level = n;
	}
	return {
		Tables: all(".sheet table").length,
		Figures: all("figure svg[role=img]").length,
		Scripts: document.scripts.length,
		Handlers: all("[onclick],[onload],[onerror]").length,
		Captions: all(".sheet table > caption").length,
		Heads: all("table th:not([scope])").length,
		Unlabelled: all("figure svg:not([aria-label])").length,
		Rows: all("[data-row]").length,
		Bold: all(".sheet b").length,
		Lang: document.documentElement.lang,
		Title: document.title,
		Script: all("th").map(e => e.textContent).find(s => s.includes("alert(1)")) || "",
		Jumps: jumps,
		Dangling: all('a[href^="#"]').map(a => a.getAttribute("href").slice(1)).filter(id => !document.getElementById(id)),
		Sheets: all(".sheet").filter(seen).map(e => e.id),
		Drawings: all("figure").filter(e => seen(e.querySelector("svg"))).map(e => e.id),
		Width: document.documentElement.scrollWidth,
		Window: window.innerWidth,
	};
})()`

// open opens a page of the given text in a tab of the browser.
func open(t *testing.T, browser context.Context, text string) browsertest.Visit[pageFacts] {
	t.Helper()
	file := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return browsertest.Open[pageFacts](t, browser, file, inspect)
}

// TestPageInBrowser opens the page as a reader does: every table and figure is
// there, nothing is complained of, nothing is fetched, labels are text.
func TestPageInBrowser(t *testing.T) {
	tabs := browsertest.Start(t)
	checkTells(t, tabs)
	in := saltmarsh(t)
	v := open(t, tabs, pageOf(t, in))
	found := v.Facts
	if len(v.Complaints) > 0 {
		t.Errorf("the browser complains: %q", v.Complaints)
	}
	if len(v.Fetched) > 0 {
		t.Errorf("the page fetches %q", v.Fetched)
	}
	sheets, drawings := []string{"t-findings"}, []string{}
	for _, a := range in.Results.Analyses {
		for _, s := range sheetsOf(in.Results, a) {
			sheets = append(sheets, "t-"+anchor(s.ID))
		}
		for _, id := range a.Figures {
			drawings = append(drawings, "f-"+anchor(id))
		}
	}
	if len(sheets) < 6 || len(drawings) < 3 {
		t.Errorf("the example has the tables %q and the figures %q: too few to tell", sheets, drawings)
	}
	for _, check := range []struct {
		what      string
		got, want any
	}{
		{"tables seen", fmt.Sprint(found.Sheets), fmt.Sprint(sheets)},
		{"figures seen", fmt.Sprint(found.Drawings), fmt.Sprint(drawings)},
		{"tables", found.Tables, len(sheets)},
		{"captions", found.Captions, len(sheets)},
		{"figures", found.Figures, len(drawings)},
		{"scripts", found.Scripts, 0},
		{"handlers", found.Handlers, 0},
		{"heads without scope", found.Heads, 0},
		{"figures without a text", found.Unlabelled, 0},
		{"elements of a label", found.Bold, 0},
		{"language", found.Lang, "en"},
		{"title", found.Title, in.Results.Title},
		{"label", found.Script, "<script>alert(1)</script><b> (per unit)"},
		{"jumps in the headings", fmt.Sprint(found.Jumps), "[]"},
		{"links to nothing", fmt.Sprint(found.Dangling), "[]"},
	} {
		if check.got != check.want {
			t.Errorf("%s: %v, want %v", check.what, check.got, check.want)
		}
	}
	if found.Rows == 0 {
		t.Error("no number carries its row")
	}
	if found.Width > found.Window {
		t.Errorf("the page is %d wide in a window of %d", found.Width, found.Window)
	}
}

// checkTells: a page with faults is told apart from one without.
func checkTells(t *testing.T, tabs context.Context) {
	t.Helper()
	v := open(t, tabs, `<!DOCTYPE html><title>x</title><h1>x</h1><h3>y</h3><a href="#z">z</a>
		<img src="http://127.0.0.1:1/x.png"><script>console.error("x")</script><div style="width:900px">x</div>`)
	if len(v.Complaints) == 0 || len(v.Fetched) != 1 || v.Facts.Scripts != 1 || len(v.Facts.Jumps) != 1 ||
		len(v.Facts.Dangling) != 1 || v.Facts.Width <= v.Facts.Window {
		t.Errorf("faults were not seen: %+v", v)
	}
}
