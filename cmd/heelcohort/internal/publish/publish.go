// Package publish writes the results folder of a run: report, workbook, tables,
// figures, findings, marked copies of the data, methods and manifest. The
// folder is made aside and swapped in whole; when anything fails, or the
// context ends, the old results stay as they were.
package publish

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/figure"
	"heelcohort/cmd/heelcohort/internal/frozen"
	"heelcohort/cmd/heelcohort/internal/output"
	"heelcohort/cmd/heelcohort/internal/report"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset"
	"heelcohort/dataset/harmless"
	"heelcohort/plots"
)

// Folder is the name of the results folder in a study folder.
const Folder = "results"

var formats = []string{"svg", "pdf", "png"}

// Results writes the results folder of a study. Data that name people are
// refused, for marked copies of them lie in the folder. step, where not nil, is told
// what is being written.
func Results(ctx context.Context, s *run.Study, o *run.Outcome, step func(string)) (err error) {
	if o.Identified() {
		return errors.New("the data name people; no results are written")
	}
	stage, err := output.Begin(filepath.Join(s.Dir, Folder))
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, stage.Abort())
		}
	}()
	if step == nil {
		step = func(string) {}
	}
	w := &writer{ctx: ctx, stage: stage, step: step, study: s, outcome: o}
	for _, part := range []func() error{w.figures, w.tables, w.report, w.findings, w.checked, w.manifest} {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := part(); err != nil {
			return err
		}
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	return stage.Commit()
}

type writer struct {
	ctx     context.Context
	stage   *output.Stage
	step    func(string)
	study   *run.Study
	outcome *run.Outcome
	svg     map[string][]byte
}

// figures draws every figure of the analyses. One that has nothing to show, or
// more than a page holds, is left out with a warning.
func (w *writer) figures() error {
	w.svg = map[string][]byte{}
	res := w.outcome.Results
	for i := range res.Analyses {
		a := &res.Analyses[i]
		var drawn []string
		for _, id := range a.Figures {
			if err := w.ctx.Err(); err != nil {
				return err
			}
			w.step("figure " + id)
			f, err := figure.Build(res, id)
			if errors.Is(err, plots.ErrNoData) || errors.Is(err, plots.ErrNoRoom) {
				a.Warnings = append(a.Warnings, fmt.Sprintf("Figure %s is not drawn: %v.", id, err))
				continue
			}
			if err != nil {
				return fmt.Errorf("figure %s: %w", id, err)
			}
			for _, format := range formats {
				var b bytes.Buffer
				if err := f.Save(&b, format); err != nil {
					return fmt.Errorf("figure %s as %s: %w", id, format, err)
				}
				data := b.Bytes()
				if format == "svg" {
					data = harmless.Page(data)
					w.svg[id] = data
				}
				if err := w.stage.WriteFile("figures/"+id+"."+format, data); err != nil {
					return err
				}
			}
			drawn = append(drawn, id)
		}
		a.Figures = drawn
	}
	return res.Seal()
}

func (w *writer) tables() error {
	w.step("tables")
	res := w.outcome.Results
	for _, a := range res.Analyses {
		var rows []result.Row
		for _, r := range res.Rows {
			if r.Analysis == a.ID {
				rows = append(rows, r)
			}
		}
		var b bytes.Buffer
		if err := result.WriteCSV(&b, rows); err != nil {
			return err
		}
		if err := w.stage.WriteFile("tables/"+a.ID+".csv", b.Bytes()); err != nil {
			return err
		}
	}
	var b bytes.Buffer
	if err := res.WriteJSON(&b); err != nil {
		return err
	}
	if err := w.stage.WriteFile("results.json", b.Bytes()); err != nil {
		return err
	}
	return w.stage.WriteFile("results.schema.json", result.Schema())
}

func (w *writer) report() error {
	in := report.Input{Results: w.outcome.Results, Findings: w.outcome.Findings, Figures: w.svg}
	for _, f := range []struct {
		name  string
		write func(*bytes.Buffer) error
	}{
		{"report.html", func(b *bytes.Buffer) error { return report.HTML(b, in) }},
		{"tables.xlsx", func(b *bytes.Buffer) error { return report.Workbook(b, in) }},
		{"methods.md", func(b *bytes.Buffer) error { return report.Methods(b, in) }},
	} {
		w.step(f.name)
		var b bytes.Buffer
		if err := f.write(&b); err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		if err := w.stage.WriteFile(f.name, b.Bytes()); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) findings() error {
	var b bytes.Buffer
	if err := dataset.WriteFindings(&b, w.outcome.Findings); err != nil {
		return err
	}
	return w.stage.WriteFile("findings.csv", b.Bytes())
}

// checked writes a copy of each data file: marked where it has findings, as it
// is where it has none.
func (w *writer) checked() error {
	w.step("checked copies")
	return Checked(w.ctx, w.outcome.Data, w.outcome.Findings, w.stage.WriteFile)
}

// Checked makes a marked copy of every data file with findings and a plain copy
// of every other, and hands them to write with names under checked/.
func Checked(ctx context.Context, d *dataset.Dataset, findings []dataset.Finding, write func(name string, data []byte) error) error {
	dir, err := os.MkdirTemp("", "heelcohort-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	names, err := dataset.Mark(ctx, d, findings, dir)
	if err != nil {
		return err
	}
	slices.Sort(names)
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			return err
		}
		if err := write("checked/"+name, data); err != nil {
			return err
		}
	}
	taken := map[string]bool{}
	for _, name := range names {
		taken[name] = true
	}
	with := map[string]bool{}
	for _, f := range findings {
		with[f.Where.File] = true
	}
	for _, f := range d.Files {
		if with[f.Path] {
			continue
		}
		data, err := os.ReadFile(filepath.Join(d.Dir, filepath.FromSlash(f.Path)))
		if err != nil {
			return err
		}
		name := path.Base(f.Path)
		if taken[name] {
			name = strings.ReplaceAll(f.Path, "/", "-")
		}
		taken[name] = true
		if err := write("checked/"+name, data); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) manifest() error {
	m := output.Manifest{Program: w.outcome.Results.Program, Plan: w.study.Plan.File, Options: []output.Option{}}
	names := append([]string{w.study.Plan.File, w.study.Plan.Codebook.Value}, w.study.Tables()...)
	if w.study.Frozen() {
		names = append(names, frozen.File)
	}
	for _, name := range names {
		f, err := output.InputFile(w.study.Dir, name)
		if err != nil {
			return err
		}
		m.Inputs = append(m.Inputs, f)
	}
	for _, f := range w.outcome.Data.Files {
		m.Inputs = append(m.Inputs, output.File{Name: f.Path, Size: f.Bytes, SHA256: f.SHA256})
	}
	return w.stage.Manifest(m)
}
