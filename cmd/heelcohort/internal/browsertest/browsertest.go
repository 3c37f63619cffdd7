// Package browsertest opens pages in a headless browser for tests.
package browsertest

import (
	"context"
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

// Start starts a headless browser, or skips the test. All that is done with it
// must be done within a minute; it takes a second or two.
func Start(t *testing.T) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if found, err := exec.LookPath(name); err == nil && path == "" {
			path = found
		}
	}
	if path == "" {
		t.Skip("NO BROWSER FOUND: the page was not opened in one; install chromium to run this test")
	}
	options := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(path), chromedp.NoSandbox)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	t.Cleanup(cancel)
	ctx, stop := chromedp.NewExecAllocator(ctx, options...)
	t.Cleanup(stop)
	ctx, closeTab := chromedp.NewContext(ctx)
	t.Cleanup(closeTab)
	if err := chromedp.Do(ctx); err != nil { // starts it
		t.Fatal(err)
	}
	return ctx
}

// A Visit is what a browser told of a page.
type Visit[T any] struct {
	Facts      T        // what the script gave
	Complaints []string // of the console
	Fetched    []string // addresses other than the page's own
}

// Open opens a file in a tab of the browser, in a narrow window, and runs a
// script in it.
func Open[T any](t *testing.T, browser context.Context, file, script string) Visit[T] {
	t.Helper()
	address := "file://" + filepath.ToSlash(file)
	ctx, closeTab := chromedp.NewContext(browser)
	defer closeTab()
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	var mu sync.Mutex
	var v Visit[T]
	err := chromedp.Listen(ctx, func(event any) {
		mu.Lock()
		defer mu.Unlock()
		switch event := event.(type) {
		case *log.EventEntryAdded:
			v.Complaints = append(v.Complaints, event.Entry.Text)
		case *runtime.EventConsoleAPICalled:
			v.Complaints = append(v.Complaints, "console")
		case *runtime.EventExceptionThrown:
			v.Complaints = append(v.Complaints, event.ExceptionDetails.Text)
		case *network.EventRequestWillBeSent:
			if url := event.Request.URL; url != address && !strings.HasPrefix(url, "data:") {
				v.Fetched = append(v.Fetched, url)
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(360, 800), chromedp.Navigate(address)); err != nil {
		t.Fatal(err)
	}
	facts, err := chromedp.Run(ctx, chromedp.Evaluate[T](script))
	if err != nil {
		t.Fatal(err)
	}
	mu.Lock()
	defer mu.Unlock()
	v.Facts = facts
	return v
}
