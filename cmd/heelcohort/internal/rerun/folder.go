package rerun

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
)

// A group is a sort of input.
type group string

const (
	planGroup      group = "plan"
	codebookGroup  group = "codebook"
	referenceGroup group = "references"
	dataGroup      group = "data"
)

var allGroups = []group{planGroup, codebookGroup, referenceGroup, dataGroup}

// An input is a file that the results were made from, or that they are made
// from now.
type input struct {
	name     string
	group    group
	recorded string // SHA-256; "" where the results were not made from it
	found    string // SHA-256 now; "" where it is not there
	from     string // folder that it lies in
}

func (in input) changed() bool { return in.recorded != in.found }

// listInputs lists every input, recorded or read now. Data that the
// folder does not hold are looked for in the folder of --data.
func (r *rerunner) listInputs(s *run.Study) error {
	add := func(name string, g group, recorded string) error {
		if slices.ContainsFunc(r.inputs, func(in input) bool { return in.name == name }) {
			return nil
		}
		in := input{name: name, group: g, recorded: recorded, from: r.dir}
		f, known := r.inventory.File(name)
		in.found = f.Found
		if in.found == "" && g == dataGroup && r.data != "" {
			in.from = r.data
		}
		if !known || in.found == "" {
			sum, err := bundle.Digest(in.from, name)
			if err != nil && !errors.Is(err, fs.ErrNotExist) {
				return err
			}
			in.found = sum
		}
		r.inputs = append(r.inputs, in)
		return nil
	}
	outputs := map[string]bool{}
	for _, f := range r.inventory.Manifest.Outputs {
		outputs[f.Name] = true
	}
	codebook := ""
	switch {
	case r.stored != nil:
		codebook = r.stored.Codebook
	case s != nil:
		codebook = s.Plan.Codebook.Value
	}
	for _, f := range r.inventory.Manifest.Inputs {
		g := dataGroup
		switch {
		case f.Name == r.inventory.Manifest.Plan:
			g = planGroup
		case f.Name == codebook:
			g = codebookGroup
		case outputs[publish.Inputs+"/"+f.Name]:
			g = referenceGroup
		}
		if err := add(f.Name, g, f.SHA256); err != nil {
			return err
		}
	}
	if s == nil {
		return nil
	}
	for i, f := range s.Sources {
		if err := add(f.Name, allGroups[min(i, 2)], ""); err != nil {
			return err
		}
	}
	for _, f := range s.Package.Resources {
		if err := add(f.Path, dataGroup, ""); err != nil {
			return err
		}
	}
	return nil
}

// recordedCopy finds a file with the given digest.
func (r *rerunner) recordedCopy(sum string) (name string, there bool) {
	for _, f := range r.inventory.Files {
		if f.Found == sum {
			return f.Name, true
		}
	}
	return "", false
}

// build makes a study folder in which the groups of now are as they are now and
// all others as they were recorded.
func (r *rerunner) build(ctx context.Context, now func(group) bool) (dir string, err error) {
	dir, err = os.MkdirTemp(r.temporary, "study-")
	if err != nil {
		return "", err
	}
	to, err := os.OpenRoot(dir)
	if err != nil {
		return "", err
	}
	defer to.Close()
	for _, in := range r.inputs {
		from, name := in.from, in.name
		switch {
		case now(in.group) && in.found == "", !now(in.group) && in.recorded == "":
			continue // not there
		case !now(in.group) && in.changed():
			var there bool
			if name, there = r.recordedCopy(in.recorded); !there {
				return "", fmt.Errorf("%s as recorded is not at hand", in.name)
			}
			from = r.dir
		}
		if err := copyOne(ctx, from, to, name, in.name); err != nil {
			return "", err
		}
	}
	return dir, nil
}

func copyOne(ctx context.Context, from string, to *os.Root, name, as string) error {
	source, err := os.OpenRoot(from)
	if err != nil {
		return err
	}
	defer source.Close()
	return bundle.CopyAs(ctx, source, to, name, as)
}

// results computes a study folder and nothing else.
func (r *rerunner) results(ctx context.Context, dir string) (*result.Results, error) {
	s, err := run.Read(dir)
	if err != nil {
		return nil, err
	}
	o, err := s.Compute(ctx, r.program, run.Watch{})
	if err != nil {
		return nil, err
	}
	if o.Faulty() {
		return nil, errors.New("nothing was computed")
	}
	return o.Results, nil
}

// readResults reads the stored results.
func readResults(dir string) (*result.Results, error) {
	f, err := os.Open(filepath.Join(dir, publish.Folder, "results.json"))
	if err != nil {
		return nil, fmt.Errorf("%s/results.json: the results are not there", publish.Folder)
	}
	defer f.Close()
	res, err := result.ReadJSON(f)
	if err != nil {
		return nil, fmt.Errorf("%s/results.json: %w", publish.Folder, err)
	}
	return res, nil
}
