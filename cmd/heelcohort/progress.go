package main

import (
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset/harmless"
)

// progress shows how far a long computation is, on a terminal only.
type progress struct{ bar *progressbar.ProgressBar }

func newProgress(w io.Writer) *progress {
	if t, ok := w.(*harmless.Terminal); ok {
		w = t.Unwrap()
	}
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return &progress{}
	}
	return &progress{progressbar.NewOptions64(-1,
		progressbar.OptionSetWriter(f), progressbar.OptionClearOnFinish(), progressbar.OptionSetWidth(20),
		progressbar.OptionSetPredictTime(false), progressbar.OptionSetElapsedTime(false))}
}

// watch is what the computation tells.
func (p *progress) watch() run.Watch {
	if p.bar == nil {
		return run.Watch{}
	}
	return run.Watch{
		File: func(name string, done, total int64) {
			p.bar.Describe("reading " + harmless.Line(name))
			p.bar.ChangeMax64(max(total, 1))
			_ = p.bar.Set64(min(done, total))
		},
		Analysis: func(id string, done, total int) {
			p.bar.Describe("computing " + harmless.Line(id))
			p.bar.ChangeMax(total)
			_ = p.bar.Set(done)
		},
	}
}

// step shows what is being written.
func (p *progress) step(name string) {
	if p.bar != nil {
		p.bar.Describe("writing " + harmless.Line(name))
		_ = p.bar.RenderBlank()
	}
}

func (p *progress) done() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
