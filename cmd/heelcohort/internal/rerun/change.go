package rerun

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/codebookfile"
	"heelcohort/cmd/heelcohort/internal/output"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/codebook/document"
)

// changes lists everything that is not as recorded.
func (r *rerunner) changes(ctx context.Context) {
	for _, in := range r.inputs {
		if in.found != "" && in.changed() && in.group != dataGroup {
			r.inputChanges(in)
		}
	}
	r.dataChanges(ctx)
	r.programChanges()
	inputs := map[string]bool{}
	for _, in := range r.inputs {
		inputs[in.name] = true
	}
	for _, f := range r.inventory.Files {
		switch {
		case f.Status == bundle.Missing:
			r.add(Change{Kind: MissingFile, Place: f.Name, Detail: "recorded and not there"})
		case f.Status == bundle.Additional && !inputs[f.Name]:
			r.add(Change{Kind: AdditionalFile, Place: f.Name, Detail: "not recorded"})
		case f.Status == bundle.Altered && !inputs[f.Name]:
			r.add(r.altered(f))
		}
	}
}

func (r *rerunner) add(c Change) { r.report.Changes = append(r.report.Changes, c) }

// label numbers the changes.
func (r *rerunner) label() {
	for i := range r.report.Changes {
		r.report.Changes[i].Label = fmt.Sprintf("change %d", i+1)
	}
}

// altered is the change of a file that is no input.
func (r *rerunner) altered(f bundle.File) Change {
	in, results := strings.CutPrefix(f.Name, publish.Folder+"/")
	switch {
	case !results:
		return Change{Kind: OtherFile, Place: f.Name, Detail: "its SHA-256 is not the recorded one"}
	case strings.HasPrefix(in, "figures/"):
		detail := "its SHA-256 is not the recorded one"
		if f.Found != "" && r.report.Stopped == "" && !r.differs(f.Name) {
			detail += "; it is the figure that comes out now"
		}
		return Change{Kind: FigureEdited, Place: f.Name, Detail: detail}
	}
	c := Change{Kind: ResultsEdited, Place: f.Name, Detail: "its SHA-256 is not the one that the run recorded"}
	if in == "results.json" {
		c.group = resultsGroup
		if r.stored == nil {
			c.Detail += "; it cannot be read as results any more"
		} else if copied := *r.stored; copied.Seal() != nil {
			c.Detail += "; its rows contradict themselves"
		}
	}
	return c
}

func (r *rerunner) differs(name string) bool {
	for _, d := range r.report.Outputs.Different {
		if d == name {
			return true
		}
	}
	return false
}

// inputChanges tells what changed in plan, codebook or a table of references.
func (r *rerunner) inputChanges(in input) {
	if in.recorded == "" {
		r.add(Change{Kind: OtherFile, Place: in.name, Detail: "read now and not when the results were made", group: in.group})
		return
	}
	kinds := map[group]string{planGroup: PlanOption, codebookGroup: CodebookOther, referenceGroup: References}
	whole := Change{Kind: kinds[in.group], Place: in.name, group: in.group, Detail: "its SHA-256 is not the recorded one"}
	copied, there := r.recordedCopy(in.recorded)
	if !there || in.group == referenceGroup {
		r.add(whole)
		return
	}
	before, err := readDocument(r.dir, copied, in.name)
	if err != nil {
		r.add(whole)
		return
	}
	after, err := readDocument(in.from, in.name, in.name)
	if err != nil {
		whole.Detail = err.Error()
		r.add(whole)
		return
	}
	list := differences(before, after)
	if len(list) == 0 {
		r.add(Change{Kind: Layout, Place: in.name, Detail: "comments, order of keys or layout; every value is the recorded one", Harmless: true, group: in.group, wording: true})
	}
	for _, d := range list {
		if len(d.path) == 0 {
			r.add(whole)
			continue
		}
		if in.group == planGroup {
			r.add(planChange(in.name, d))
		} else {
			r.add(codebookChange(in.name, d))
		}
	}
}

// readDocument reads a plan or codebook, which lies under one name and has the
// ending of another.
func readDocument(dir, from, name string) (*document.Node, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	data, err := root.ReadFile(filepath.FromSlash(from))
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read", from)
	}
	return codebookfile.Document(name, data)
}

// programChanges tells what differs in the program.
func (r *rerunner) programChanges() {
	m := r.inventory.Manifest
	if m == nil {
		return
	}
	add := func(before, after string) {
		r.add(Change{Kind: ProgramVersion, Place: before, Detail: fmt.Sprintf("the results were made by %s, now by %s", before, after), group: programGroup})
	}
	if m.Program != r.program {
		add(m.Program, r.program)
	}
	if m.Go != runtime.Version() {
		add(m.Go, runtime.Version())
	}
	now := map[string]output.Module{}
	for _, o := range output.Modules() {
		now[o.Path] = o
	}
	if len(now) == 0 {
		return // built in a way that does not say
	}
	for _, o := range m.Modules {
		if n, there := now[o.Path]; there && n != o {
			add(o.Path+" "+o.Version, n.Path+" "+n.Version)
		}
	}
}

// methodChanges tells which methods have another version than the results
// were made with, and what changed since.
func (r *rerunner) methodChanges(fresh *result.Results) {
	for _, a := range r.stored.Analyses {
		now, there := fresh.Analysis(a.ID)
		if !there || now.Kind != a.Kind {
			continue
		}
		before, after := a.Setting(run.MethodSetting), now.Setting(run.MethodSetting)
		if before == after {
			continue
		}
		detail := fmt.Sprintf("made by methods %q, now %q", before, after)
		if said := run.MethodChanges(a.Kind, before); len(said) > 0 {
			detail += ": " + strings.Join(said, "; ")
		}
		r.add(Change{Kind: MethodVersion, Place: a.ID, Detail: detail, group: programGroup, analysis: a.ID})
	}
}

// Groups of changes that are no inputs.
const (
	programGroup group = "program"
	resultsGroup group = "results"
)
