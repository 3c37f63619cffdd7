package run

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"heelcohort/cmd/heelcohort/internal/frozen"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
)

// Words that results carry about a frozen plan.
const (
	exploratory      = "exploratory: added after the plan was frozen"
	exploratoryTitle = " (exploratory)"
)

// A freeze is how the plan of a study stands to the one that was frozen.
type freeze struct {
	file    []byte // as it was read
	digest  string
	general []string            // deviations outside of analyses, and analyses left out
	added   map[string]bool     // analyses that the frozen plan does not have
	changed map[string][]string // deviations by analysis
	lines   int                 // that deviate
}

// readFreeze holds the plan against the frozen one of the folder, nil where it
// has none.
func readFreeze(dir string, p *plan.Plan, data []byte) (*freeze, error) {
	file, err := ReadText(dir, frozen.File)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	was, err := frozen.Read(file)
	if err != nil {
		return nil, err
	}
	old, err := plan.Decode(frozen.File, was)
	if err != nil {
		return nil, fmt.Errorf("%s: the plan that was frozen cannot be read: %w", frozen.File, err)
	}
	f := &freeze{file: file, digest: frozen.Digest(was), added: map[string]bool{}, changed: map[string][]string{}}
	now, before := starts(p), starts(old)
	known := map[string]bool{}
	for _, a := range before {
		known[a.id] = true
	}
	for _, a := range now {
		f.added[a.id] = !known[a.id]
	}
	for _, a := range before {
		if !has(now, a.id) {
			f.general = append(f.general, fmt.Sprintf("the analysis %s of the frozen plan was left out", a.id))
		}
	}
	for _, d := range frozen.Deviations(only(was, before, ""), only(data, now, "")) {
		f.general = append(f.general, d.String())
	}
	for _, a := range now {
		if f.added[a.id] {
			continue
		}
		for _, d := range frozen.Deviations(only(was, before, a.id), only(data, now, a.id)) {
			f.changed[a.id] = append(f.changed[a.id], d.String())
		}
	}
	f.lines = len(frozen.Deviations(was, data))
	return f, nil
}

// A start is the line on which an analysis begins.
type start struct {
	id   string
	line int
}

func starts(p *plan.Plan) (list []start) {
	for _, a := range p.Analyses {
		head := a.Common()
		list = append(list, start{head.ID.Value, head.Position.Line})
	}
	return list
}

func has(list []start, id string) bool {
	for _, s := range list {
		if s.id == id {
			return true
		}
	}
	return false
}

// within is the analysis that a line of a plan belongs to, "" for none: a key
// of the plan itself stands at the beginning of its line.
func within(list []start, line int, text string) (id string) {
	if text != "" && !strings.ContainsAny(text[:1], " \t-") {
		return ""
	}
	for _, s := range list {
		if s.line <= line {
			id = s.id
		}
	}
	return id
}

// only is a plan with all lines emptied that do not belong to an analysis, or
// with "" that belong to one; lines keep their numbers.
func only(text []byte, list []start, id string) []byte {
	lines := strings.Split(string(text), "\n")
	for i, line := range lines {
		if within(list, i+1, line) != id {
			lines[i] = ""
		}
	}
	return []byte(strings.Join(lines, "\n"))
}

// settings say how the plan stands to the frozen one.
func (f *freeze) settings() (list []result.Setting) {
	if f == nil {
		return nil
	}
	state := "the plan is as it was frozen"
	if f.lines > 0 {
		state = fmt.Sprintf("the plan deviates from it in %d lines", f.lines)
		if f.lines == 1 {
			state = "the plan deviates from it in 1 line"
		}
	}
	list = append(list, result.Setting{Key: "frozen plan", Value: "SHA-256 " + f.digest + "; " + state, Written: true})
	for i, text := range f.general {
		list = append(list, result.Setting{Key: fmt.Sprintf("deviation %d", i+1), Value: text, Written: true})
	}
	return list
}

// mark labels an analysis that was added or changed.
func (f *freeze) mark(a *result.Analysis) {
	if f == nil {
		return
	}
	if f.added[a.ID] {
		a.Title += exploratoryTitle
		a.Warnings = append(a.Warnings, exploratory)
	}
	for _, text := range f.changed[a.ID] {
		a.Warnings = append(a.Warnings, "deviates from the frozen plan: "+text)
	}
}

// Deviations are the sentences about how the plan stands to the frozen one,
// none where no plan was frozen or it is as it was.
func (s *Study) Deviations() (list []string) {
	if s.freeze == nil {
		return nil
	}
	list = append(list, s.freeze.general...)
	for _, a := range starts(s.Plan) {
		if s.freeze.added[a.id] {
			list = append(list, a.id+" is "+exploratory)
		}
		for _, text := range s.freeze.changed[a.id] {
			list = append(list, a.id+": "+text)
		}
	}
	return list
}

// Frozen reports whether the folder holds a frozen plan.
func (s *Study) Frozen() bool { return s.freeze != nil }
