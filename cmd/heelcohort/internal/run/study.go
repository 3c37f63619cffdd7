package run

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"heelcohort/cmd/heelcohort/internal/codebookfile"
	"heelcohort/cmd/heelcohort/internal/cohort"
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
	model   *cohort.Model
	jobs    []job
}

// Read reads plan and codebook of a study folder and checks every name and
// expression. Data are not read.
func Read(dir string) (*Study, error) {
	data, err := readText(dir, PlanFile, "the plan")
	if err != nil {
		return nil, err
	}
	p, err := plan.Decode(PlanFile, data)
	if err != nil {
		return nil, err
	}
	s := &Study{Dir: dir, Plan: p}
	if s.Package, err = readCodebook(dir, p); err != nil {
		return nil, err
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

// Codebook reads the codebook of a study folder alone: the one that its plan
// names, or codebook.yaml where the folder has no plan.
func Codebook(dir string) (*codebook.Package, error) {
	data, err := os.ReadFile(filepath.Join(dir, PlanFile))
	if errors.Is(err, fs.ErrNotExist) {
		text, err := readText(dir, codebookFile, "the codebook")
		if err != nil {
			return nil, err
		}
		return codebook.Decode(codebookFile, text)
	}
	if err != nil {
		return nil, plainError(PlanFile, err)
	}
	p, err := plan.Decode(PlanFile, data)
	if err != nil {
		return nil, err
	}
	return readCodebook(dir, p)
}

func readCodebook(dir string, p *plan.Plan) (*codebook.Package, error) {
	name := p.Codebook.Value
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, p.Codebook.Errorf(1, 1, "", "codebook %q, expected a file within the study folder", name)
	}
	data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, p.Codebook.Errorf(1, 1, document.NearestFile(filepath.Join(dir, filepath.Dir(filepath.FromSlash(name))), filepath.Base(name)), "codebook %q does not exist in the study folder", name)
	}
	if err != nil {
		return nil, plainError(name, err)
	}
	return codebookfile.Decode(name, data)
}

func readText(dir, name, what string) ([]byte, error) {
	data, err := os.ReadFile(filepath.Join(dir, name))
	if errors.Is(err, fs.ErrNotExist) {
		if _, statErr := os.Stat(dir); errors.Is(statErr, fs.ErrNotExist) {
			return nil, fmt.Errorf("the study folder %s does not exist", dir)
		}
		nearest := document.NearestFile(dir, name)
		if nearest != "" {
			nearest = fmt.Sprintf("; did you mean %q?", nearest)
		}
		return nil, fmt.Errorf("%s: %s is missing, expected it in the study folder%s", name, what, nearest)
	}
	if err != nil {
		return nil, plainError(name, err)
	}
	return data, nil
}

// plainError says what failed without the folder's place on this machine.
func plainError(name string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return fmt.Errorf("%s: %w", name, err)
}
