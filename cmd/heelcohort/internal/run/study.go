package run

import (
	"errors"
	"io/fs"
	"path/filepath"
	"slices"

	"heelcohort/cmd/heelcohort/internal/codebookfile"
	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/frozen"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// PlanFile is the name of the plan in a study folder.
const PlanFile = "study.yaml"

// codebookFile is the codebook of a folder that has no plan.
const codebookFile = "codebook.yaml"

// A Study is a study folder whose plan and codebook were read and fit together.
type Study struct {
	Dir     string
	Plan    *plan.Plan
	Package *codebook.Package
	// Sources are the plan, the codebook and the tables of references, as they
	// were read.
	Sources []Source
	model   *cohort.Model
	jobs    []job
	freeze  *freeze // nil where no plan was frozen
}

// A Source is a file that the analysis was read from.
type Source struct {
	Name string // relative to the study folder, with slashes
	Data []byte
}

// Read reads plan and codebook of a study folder and checks every name and
// expression. Data are not read.
func Read(dir string) (*Study, error) {
	data, err := readNamed(dir, PlanFile, "the plan")
	if err != nil {
		return nil, err
	}
	p, err := plan.Decode(PlanFile, data)
	if err != nil {
		return nil, err
	}
	s := &Study{Dir: dir, Plan: p, Sources: []Source{{PlanFile, data}}}
	if s.freeze, err = readFreeze(dir, p, data); err != nil {
		return nil, err
	}
	if s.Package, data, err = readCodebook(dir, p); err != nil {
		return nil, err
	}
	s.Sources = append(s.Sources, Source{p.Codebook.Value, data})
	if err = readTables(dir, p); err != nil {
		return nil, err
	}
	s.tables()
	if s.freeze != nil {
		s.Sources = append(s.Sources, Source{frozen.File, s.freeze.file})
	}
	if s.model, err = cohort.Compile(p, s.Package); err != nil {
		return nil, err
	}
	var faults []error
	for _, a := range p.Analyses {
		j, err := bind(s.model, a)
		if err != nil {
			faults = append(faults, err)
		}
		s.jobs = append(s.jobs, j)
	}
	return s, document.Join(faults...)
}

// readTables reads the tables of references that the plan's instruments name.
func readTables(dir string, p *plan.Plan) error {
	var faults []error
	for _, block := range p.Derive {
		for _, d := range block.Value {
			if d.Instrument == nil {
				continue
			}
			i, ok := d.Instrument.Instrument.(*plan.BMIForAge)
			if !ok || i.Reference.CDC {
				continue
			}
			name := i.Reference.Parameters
			if !filepath.IsLocal(filepath.FromSlash(name.Value)) {
				faults = append(faults, name.Errorf(1, 1, "", "table %q, expected a file within the study folder", name.Value))
				continue
			}
			var err error
			i.Reference.Table, err = ReadText(dir, name.Value)
			switch {
			case errors.Is(err, fs.ErrNotExist):
				nearest := document.NearestFile(filepath.Join(dir, filepath.Dir(filepath.FromSlash(name.Value))), filepath.Base(name.Value))
				faults = append(faults, name.Errorf(1, 1, nearest, "table %q does not exist in the study folder", name.Value))
			case err != nil:
				faults = append(faults, name.Errorf(1, 1, "", "%v", err))
			}
		}
	}
	return document.Join(faults...)
}

// tables adds the files of references that the plan's instruments read, in the
// order of the plan, each once.
func (s *Study) tables() {
	for _, block := range s.Plan.Derive {
		for _, d := range block.Value {
			if d.Instrument == nil {
				continue
			}
			i, ok := d.Instrument.Instrument.(*plan.BMIForAge)
			if !ok || i.Reference.CDC {
				continue
			}
			name := i.Reference.Parameters.Value
			if !slices.ContainsFunc(s.Sources, func(f Source) bool { return f.Name == name }) {
				s.Sources = append(s.Sources, Source{name, i.Reference.Table})
			}
		}
	}
}

// Codebook reads the codebook of a study folder alone, and gives its name: the
// one that the folder's plan names, or codebook.yaml where it has no plan.
func Codebook(dir string) (name string, pkg *codebook.Package, err error) {
	data, err := readNamed(dir, PlanFile, "the plan")
	if errors.Is(err, fs.ErrNotExist) {
		if data, err = readNamed(dir, codebookFile, "the codebook"); err != nil {
			return "", nil, err
		}
		pkg, err = codebookfile.Decode(codebookFile, data)
		return codebookFile, pkg, err
	}
	if err != nil {
		return "", nil, err
	}
	p, err := plan.Decode(PlanFile, data)
	if err != nil {
		return "", nil, err
	}
	pkg, _, err = readCodebook(dir, p)
	return p.Codebook.Value, pkg, err
}

func readCodebook(dir string, p *plan.Plan) (*codebook.Package, []byte, error) {
	name := p.Codebook.Value
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, nil, p.Codebook.Errorf(1, 1, "", "codebook %q, expected a file within the study folder", name)
	}
	data, err := ReadText(dir, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, p.Codebook.Errorf(1, 1, document.NearestFile(filepath.Join(dir, filepath.Dir(filepath.FromSlash(name))), filepath.Base(name)), "codebook %q does not exist in the study folder", name)
	}
	if err != nil {
		return nil, nil, p.Codebook.Errorf(1, 1, "", "%v", err)
	}
	pkg, err := codebookfile.Decode(name, data)
	return pkg, data, err
}
