package output

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
)

// A Manifest says what a run read, with what it computed and what it wrote.
type Manifest struct {
	Program string   `json:"program"` // name and version
	Go      string   `json:"go"`      // Go version; filled in when empty
	Modules []Module `json:"modules"` // filled in when nil
	Plan    string   `json:"plan"`    // name of the plan's file, within the study
	Options []Option `json:"options"` // of the command, in the caller's order
	Seed    uint64   `json:"seed"`
	Inputs  []File   `json:"inputs"`
	Outputs []File   `json:"outputs"` // filled in
}

// An Option is one choice made outside the plan.
type Option struct {
	Key   string `json:"key"`
	Value string `json:"value"`
}

// A File is a file's name, relative and with slashes, its size and digest.
type File struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
}

// A Module is a module that the program was built with.
type Module struct {
	Path    string `json:"path"`
	Version string `json:"version"`
	Sum     string `json:"sum"`
}

// InputFile is the size and digest of the file with the given name, relative
// and with slashes, in the study folder.
func InputFile(study, name string) (File, error) {
	if err := checkInput(name); err != nil {
		return File{}, err
	}
	f, err := os.Open(filepath.Join(study, filepath.FromSlash(name)))
	if err != nil {
		return File{}, err
	}
	defer func() { _ = f.Close() }() // only read
	sum := sha256.New()
	size, err := io.Copy(sum, f)
	if err != nil {
		return File{}, err
	}
	return File{Name: name, Size: size, SHA256: hex.EncodeToString(sum.Sum(nil))}, nil
}

// checkInput refuses names that would carry a path of this machine.
func checkInput(name string) error {
	if !fs.ValidPath(name) || name == "." || strings.Contains(name, "\\") {
		return fmt.Errorf("input file %q: expected a path within the study, with slashes", name)
	}
	return nil
}

// Modules lists the modules that the program was built with, by path.
func Modules() []Module {
	if info, ok := debug.ReadBuildInfo(); ok {
		return modulesOf(info)
	}
	return []Module{}
}

// modulesOf lists the modules of a build, by path. The path that replaces a
// module may be one of this machine, and is left out.
func modulesOf(info *debug.BuildInfo) []Module {
	modules := []Module{}
	for _, dep := range info.Deps {
		if dep.Replace != nil {
			dep = &debug.Module{Path: dep.Path, Version: "replaced"}
		}
		modules = append(modules, Module{dep.Path, dep.Version, dep.Sum})
	}
	slices.SortFunc(modules, func(a, b Module) int { return cmp.Compare(a.Path, b.Path) })
	return modules
}

// Manifest writes manifest.json: m with the files written so far as its
// outputs, inputs and outputs in the order of their names. No file can be
// created after it.
func (s *Stage) Manifest(m Manifest) error {
	if err := checkInput(m.Plan); m.Plan != "" && err != nil {
		return fmt.Errorf("manifest: plan: %w", err)
	}
	for _, f := range m.Inputs {
		if err := checkInput(f.Name); err != nil {
			return fmt.Errorf("manifest: %w", err)
		}
	}
	outputs, err := s.outputs()
	if err != nil {
		return err
	}
	m.Outputs = outputs
	m.Inputs = append([]File{}, m.Inputs...)
	slices.SortFunc(m.Inputs, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	m.Options = append([]Option{}, m.Options...)
	if m.Go == "" {
		m.Go = runtime.Version()
	}
	if m.Modules == nil {
		m.Modules = Modules()
	}
	data, err := m.encode()
	if err != nil {
		return err
	}
	if err := s.write(manifestName, data, true); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sealed = true
	return nil
}

// encode is the manifest's text.
func (m *Manifest) encode() ([]byte, error) {
	var out bytes.Buffer
	encoder := json.NewEncoder(&out)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", " ")
	if err := encoder.Encode(m); err != nil {
		return nil, fmt.Errorf("manifest: %w", err)
	}
	return out.Bytes(), nil
}

// ReadManifest reads a manifest.json.
func ReadManifest(r io.Reader) (*Manifest, error) {
	decoder := json.NewDecoder(r)
	decoder.DisallowUnknownFields()
	m := &Manifest{}
	if err := decoder.Decode(m); err != nil {
		return nil, fmt.Errorf("manifest: %w", err)
	}
	return m, nil
}
