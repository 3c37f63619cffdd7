package rerun

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/output"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
)

// Tolerance is that of an Input which asks for none in words.
const Tolerance = 1e-9

// An Input says what is rerun.
type Input struct {
	Dir       string  // an unpacked bundle, or a study folder with results; read only
	Source    string  // its name in the report
	Data      string  // folder with the data that the bundle does not hold; ""
	Program   string  // name and version of this program
	Tolerance float64 // relative
	Watch     run.Watch
	Step      func(string) // told what is being written; may be nil
}

// A rerunner is one rerun under way.
type rerunner struct {
	dir, data, program, temporary string
	tolerance                     float64
	inventory                     *bundle.Inventory
	inputs                        []input
	stored                        *result.Results
	report                        *Report
}

// Do checks every file, computes the results anew in a temporary folder and
// compares. What does not hold is in the report; an error means that there is
// nothing to report on, or an interrupt.
func Do(ctx context.Context, in Input) (report *Report, err error) {
	r := &rerunner{dir: in.Dir, data: in.Data, program: in.Program, tolerance: in.Tolerance}
	if r.inventory, err = bundle.Check(in.Dir); err != nil {
		return nil, err
	}
	r.report = &Report{
		Form: FormID, Source: in.Source, Program: in.Program, Caution: run.Caution, Tolerance: in.Tolerance,
		Files: []bundle.File{}, Changes: []Change{}, Rows: []Row{}, Words: []Word{}, Outputs: Outputs{Different: []string{}},
	}
	if r.temporary, err = os.MkdirTemp("", "heelcohort-"); err != nil {
		return nil, err
	}
	defer os.RemoveAll(r.temporary)
	if err := r.work(ctx, in); err != nil {
		return nil, err
	}
	r.finish(ctx)
	return r.report, ctx.Err()
}

func (r *rerunner) stop(format string, args ...any) { r.report.Stopped = fmt.Sprintf(format, args...) }

// work does all but the verdict.
func (r *rerunner) work(ctx context.Context, in Input) error {
	m := r.inventory.Manifest
	if m == nil {
		r.stop("%v; without the manifest it is not known what the results were made from", r.inventory.Fault)
		return nil
	}
	r.report.Recorded = m.Program
	stored, storedErr := readResults(r.dir)
	if storedErr == nil {
		r.stored, r.report.Title = stored, stored.Title
	}
	s, err := run.Read(r.dir)
	if listed := r.listInputs(s); listed != nil {
		return listed
	}
	r.supply()
	if err != nil {
		r.stop("the study cannot be read: %v", err)
		return nil
	}
	for _, i := range r.inputs {
		if i.found == "" && i.group == dataGroup {
			if f, _ := r.inventory.File(i.name); f.Status == bundle.WithheldData {
				r.stop("%s: the bundle does not hold it, so that nothing was computed; with --data FOLDER the data are taken from there", i.name)
				return nil
			}
		}
	}
	fresh, err := r.compute(ctx, in)
	if err != nil || fresh == nil {
		return err
	}
	if storedErr != nil {
		r.stop("the stored results cannot be compared: %v", storedErr)
		return nil
	}
	r.report.Rows, r.report.Counts = compare(r.stored, fresh, r.tolerance)
	r.report.Words = append(r.report.Words, words(r.stored, fresh)...)
	return r.explain(ctx, fresh)
}

// supply notes the data that --data gave in the inventory.
func (r *rerunner) supply() {
	for _, in := range r.inputs {
		if in.from == r.dir || in.found == "" {
			continue
		}
		for i := range r.inventory.Files {
			f := &r.inventory.Files[i]
			if f.Name != in.name {
				continue
			}
			f.Found, f.Status = in.found, bundle.Intact
			if in.changed() {
				f.Status = bundle.Altered
			}
		}
	}
}

// compute computes the study as it is now as a run does, and compares the files
// that come out. It gives nil, with the report stopped, where there are no
// results.
func (r *rerunner) compute(ctx context.Context, in Input) (*result.Results, error) {
	dir, err := r.build(ctx, func(group) bool { return true })
	if err != nil {
		return nil, err
	}
	s, err := run.Read(dir)
	if err != nil {
		r.stop("the study cannot be read: %v", err)
		return nil, nil
	}
	o, err := s.Compute(ctx, r.program, in.Watch)
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case err != nil:
		r.stop("nothing was computed: %v", err)
		return nil, nil
	case o.Identified():
		r.stop("nothing was computed: the data hold what names people")
		return nil, nil
	case o.Faulty():
		c := o.Results.Findings[0]
		r.stop("nothing was computed: the data have errors, first in %s (%s: %s)", c.First, c.Rule, c.Message)
		return nil, nil
	}
	if err := publish.Results(ctx, s, o, in.Step); err != nil {
		return nil, err
	}
	return o.Results, r.outputs(dir)
}

// outputs compares the files of the results with those that came out now.
func (r *rerunner) outputs(dir string) error {
	f, err := os.Open(filepath.Join(dir, publish.Folder, "manifest.json"))
	if err != nil {
		return err
	}
	defer f.Close()
	m, err := output.ReadManifest(f)
	if err != nil {
		return err
	}
	now := map[string]string{}
	for _, f := range m.Outputs {
		now[publish.Folder+"/"+f.Name] = f.SHA256
	}
	name := publish.Folder + "/manifest.json"
	if now[name], err = bundle.Digest(dir, name); err != nil {
		return err
	}
	have := map[string]bool{}
	for _, f := range r.inventory.Files {
		if f.Status == bundle.WithheldData || f.Status == bundle.Missing {
			have[f.Name] = true
		}
		if sum, there := now[f.Name]; there && f.Found != "" {
			have[f.Name] = true
			if f.Found == sum {
				r.report.Outputs.Same++
				continue
			}
			r.report.Outputs.Different = append(r.report.Outputs.Different, f.Name)
		}
	}
	if !have[name] { // of a study folder without a crate nothing is recorded of the manifest
		stored, err := bundle.Digest(r.dir, name)
		if err != nil {
			return err
		}
		if have[name] = true; stored == now[name] {
			r.report.Outputs.Same++
		} else {
			r.report.Outputs.Different = append(r.report.Outputs.Different, name)
		}
	}
	for name := range now {
		if !have[name] {
			r.report.Outputs.Different = append(r.report.Outputs.Different, name)
		}
	}
	slices.Sort(r.report.Outputs.Different)
	return nil
}

// finish lists what changed and says whether everything holds.
func (r *rerunner) finish(ctx context.Context) {
	p := r.report
	p.Files = append(p.Files, r.inventory.Files...)
	if len(p.Changes) == 0 {
		r.changes(ctx)
		r.label()
	}
	c := p.Counts
	p.Holds = p.Stopped == "" && c.Moved+c.Gone+c.New == 0
	for _, f := range p.Files {
		p.Holds = p.Holds && (f.Status == bundle.Intact || f.Status == bundle.WithheldData)
	}
}
