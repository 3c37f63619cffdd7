package codebookpage

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"heelcohort/cmd/heelcohort/internal/browsertest"
)

// pageFacts are what the script in inspect counts.
type pageFacts struct {
	Scripts, Bold, Heads, Figures, Unlabelled, Unnamed, Variables, Width, Window int
	Lang, Title, Cut                                                             string
	Jumps, Dangling, Twice                                                       []string
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
	const ids = all("[id]").map(e => e.id);
	const cut = all("figure svg text").find(e => { const b = e.getBBox(); return b.x < 0 || b.x + b.width > 320 || b.y + b.height > 114; });
	return {
		Scripts: document.scripts.length,
		Bold: all("h4 b, td b").length,
		Heads: all("table th:not([scope])").length,
		Figures: all("figure svg[role=img]").filter(seen).length,
		Unlabelled: all("figure svg:not([aria-label])").length,
		Unnamed: all("table").filter(e => !e.querySelector("caption") && !e.getAttribute("aria-label")).length,
		Variables: all("article.variable").filter(seen).length,
		Width: document.documentElement.scrollWidth,
		Window: window.innerWidth,
		Lang: document.documentElement.lang,
		Title: document.title,
		Cut: cut ? cut.textContent : "",
		Jumps: jumps,
		Dangling: all('a[href^="#"]').map(a => decodeURIComponent(a.getAttribute("href").slice(1))).filter(id => !document.getElementById(id)),
		Twice: ids.filter((id, i) => ids.indexOf(id) !== i),
	};
})()`

// The page in a browser: everything can be seen in a narrow window, nothing is
// complained of or fetched, labels are text.
func TestPageInBrowser(t *testing.T) {
	browser := browsertest.Start(t)
	with := study(t)
	without := with
	without.Data, without.Findings = nil, nil
	for _, c := range []struct {
		name    string
		in      Input
		figures int
	}{{"with data", with, 2}, {"without data", without, 0}} {
		file := filepath.Join(t.TempDir(), "page.html")
		if err := os.WriteFile(file, []byte(pageOf(t, c.in)), 0o666); err != nil {
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
			{"elements of a label", f.Bold, 0},
			{"heads without scope", f.Heads, 0},
			{"figures", f.Figures, c.figures},
			{"figures without a text", f.Unlabelled, 0},
			{"tables without a name", f.Unnamed, 0},
			{"variables", f.Variables, 9},
			{"language", f.Lang, "en"},
			{"title", f.Title, "Heels: codebook"},
			{"a label that is cut", f.Cut, ""},
			{"jumps in the headings", fmt.Sprint(f.Jumps), "[]"},
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
