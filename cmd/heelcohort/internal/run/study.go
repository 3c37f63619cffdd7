package run

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// PlanFile is the name of the plan in a study folder.
const PlanFile = "study.yaml"

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
	data, err := readPlan(dir)
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

func readCodebook(dir string, p *plan.Plan) (*codebook.Package, error) {
	name := p.Codebook.Value
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, p.Codebook.Errorf(1, 1, "", "codebook %q, expected a file within the study folder", name)
	}
	data, err := readFile(dir, name)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, p.Codebook.Errorf(1, 1, document.NearestFile(filepath.Join(dir, filepath.Dir(filepath.FromSlash(name))), filepath.Base(name)), "codebook %q does not exist in the study folder", name)
	}
	if err != nil {
		return nil, p.Codebook.Errorf(1, 1, "", "%v", err)
	}
	return codebook.Decode(name, data)
}

func readPlan(dir string) ([]byte, error) {
	data, err := readFile(dir, PlanFile)
	if errors.Is(err, fs.ErrNotExist) {
		if _, statErr := os.Stat(dir); errors.Is(statErr, fs.ErrNotExist) {
			return nil, fmt.Errorf("the study folder %s does not exist", dir)
		}
		nearest := document.NearestFile(dir, PlanFile)
		if nearest != "" {
			nearest = fmt.Sprintf("; did you mean %q?", nearest)
		}
		return nil, fmt.Errorf("%s: the plan is missing, expected it in the study folder%s", PlanFile, nearest)
	}
	return data, err
}

// readFile reads a plan or a codebook, and never more than a document may have.
// A link may lead to another place in the study folder and nowhere else; what
// is no file, such as a pipe that would keep the program waiting, is refused.
// Errors name the file and not the folder's place on this machine.
func readFile(dir, name string) ([]byte, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, plainError(name, err)
	}
	defer root.Close()
	local := filepath.FromSlash(name)
	info, err := root.Stat(local)
	switch {
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		if _, outside := os.Stat(filepath.Join(dir, local)); outside == nil {
			return nil, fmt.Errorf("%s: a link that leads outside of the study folder", shortName(name))
		}
		return nil, plainError(name, err)
	case err != nil:
		return nil, plainError(name, err)
	case info.IsDir():
		return nil, fmt.Errorf("%s: a folder, expected a file", shortName(name))
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: not a file but a %s", shortName(name), sortOf(info.Mode()))
	}
	f, err := root.Open(local)
	if err != nil {
		return nil, plainError(name, err)
	}
	defer f.Close()
	// One byte more than is read, so that Decode refuses the document for it.
	data, err := io.ReadAll(io.LimitReader(f, document.MaxSize+1))
	if err != nil {
		return nil, plainError(name, err)
	}
	return data, nil
}

// sortOf says what stands in the place of a file.
func sortOf(mode fs.FileMode) string {
	switch {
	case mode&fs.ModeNamedPipe != 0:
		return "pipe"
	case mode&fs.ModeSocket != 0:
		return "socket"
	}
	return "device"
}

// plainError says what failed without the folder's place on this machine.
func plainError(name string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return fmt.Errorf("%s: %w", shortName(name), err)
}

// shortName is a file's name in a message, cut where it is too long for one.
func shortName(name string) string {
	const longest = 200
	if runes := []rune(name); len(runes) > longest {
		return string(runes[:longest]) + "…"
	}
	return name
}
