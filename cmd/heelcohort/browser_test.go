package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
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
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("NO BROWSER FOUND: the demonstration's report was not opened in one; install chromium to run this test")
	}
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

	p, complaints := visit(t, path, filepath.Join(dir, "results", "report.html"))
	if len(complaints) > 0 {
		t.Errorf("the browser complains or fetches: %q", complaints)
	}
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

// visit opens a page and lists complaints and requests other than for it.
func visit(t *testing.T, browser, file string) (page, []string) {
	t.Helper()
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(browser), chromedp.NoSandbox)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	ctx, stop := chromedp.NewExecAllocator(ctx, options...)
	defer stop()
	ctx, closeTab := chromedp.NewContext(ctx)
	defer closeTab()
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	address := "file://" + filepath.ToSlash(file)
	var mu sync.Mutex
	var complaints []string
	err := chromedp.Listen(ctx, func(event any) {
		mu.Lock()
		defer mu.Unlock()
		switch event := event.(type) {
		case *log.EventEntryAdded:
			complaints = append(complaints, event.Entry.Text)
		case *runtime.EventConsoleAPICalled:
			complaints = append(complaints, "console")
		case *runtime.EventExceptionThrown:
			complaints = append(complaints, event.ExceptionDetails.Text)
		case *network.EventRequestWillBeSent:
			if url := event.Request.URL; url != address && !strings.HasPrefix(url, "data:") {
				complaints = append(complaints, url)
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.Navigate(address)); err != nil {
		t.Fatal(err)
	}
	p, err := chromedp.Run(ctx, chromedp.Evaluate[page](look))
	if err != nil {
		t.Fatal(err)
	}
	mu.Lock()
	defer mu.Unlock()
	return p, complaints
}
