package output

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
)

// manifestName is the file that marks a folder as this program's results.
const manifestName = "manifest.json"

// markName is the file that marks a folder aside as this program's.
const markName = ".heelcohort-unfinished"

// A Stage is a results folder that is being written aside. Its methods may be
// called from several goroutines, as long as Manifest comes after the files
// and Commit or Abort last.
type Stage struct {
	dir    string // the results folder
	aside  string // where the files are written
	unlock func() error

	mu     sync.Mutex
	files  map[string]*File // by lower-case name; nil while being written
	open   int
	sealed bool // the manifest is written
	done   bool // committed or aborted
}

// Begin prepares the writing of the results folder dir, whose parent must
// exist. It refuses when another run is writing the same folder, and when dir
// holds something that this program did not write.
func Begin(dir string) (*Stage, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	parent, base := filepath.Split(dir)
	if base == "" {
		return nil, errors.New("results folder: the root of the file system cannot be one")
	}
	if info, err := os.Stat(parent); err != nil {
		return nil, fmt.Errorf("results folder: %w", err)
	} else if !info.IsDir() {
		return nil, fmt.Errorf("results folder: %s is not a folder", parent)
	}
	unlock, err := lock(asideName(dir, "lock"))
	if err != nil {
		if errors.Is(err, errLocked) {
			return nil, fmt.Errorf("results folder: another run is writing %s; wait until it has ended: %w", base, err)
		}
		return nil, fmt.Errorf("results folder: %w", err)
	}
	s := &Stage{dir: dir, aside: asideName(dir, "new"), unlock: unlock, files: map[string]*File{}}
	if err := s.prepare(); err != nil {
		return nil, errors.Join(fmt.Errorf("results folder: %w", err), unlock())
	}
	return s, nil
}

// asideName is the name beside dir for the given purpose.
func asideName(dir, purpose string) string {
	parent, base := filepath.Split(dir)
	return filepath.Join(parent, "."+base+"-"+purpose)
}

// prepare clears what a killed run left and makes the folder aside.
func (s *Stage) prepare() error {
	if err := recoverOld(s.dir); err != nil {
		return err
	}
	if _, err := replaceable(s.dir); err != nil {
		return err
	}
	if err := clearAside(s.aside); err != nil {
		return err
	}
	if err := os.Mkdir(s.aside, 0o777); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(s.aside, markName), nil, 0o666)
}

// Create makes the file with the given name, a clean relative path with
// slashes. The file must be closed before Manifest.
func (s *Stage) Create(name string) (io.WriteCloser, error) {
	return s.create(name, false)
}

// WriteFile makes a file of data, as Create does.
func (s *Stage) WriteFile(name string, data []byte) error {
	return s.write(name, data, false)
}

// write creates, fills and closes a file.
func (s *Stage) write(name string, data []byte, manifest bool) error {
	f, err := s.create(name, manifest)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, bytes.NewReader(data))
	return errors.Join(err, f.Close())
}

// create makes a file and enters it in the list.
func (s *Stage) create(name string, manifest bool) (io.WriteCloser, error) {
	if err := checkName(name); err != nil {
		return nil, err
	}
	key := strings.ToLower(name)
	if !manifest && (key == manifestName || strings.HasPrefix(key, manifestName+"/")) {
		return nil, fmt.Errorf("output file %q: the name belongs to the manifest", name)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	switch _, twice := s.files[key]; {
	case s.done:
		return nil, fmt.Errorf("output file %q: the results are already written or given up", name)
	case s.sealed:
		return nil, fmt.Errorf("output file %q: the manifest is already written", name)
	case twice:
		return nil, fmt.Errorf("output file %q: written twice, or a name that differs only in capitals", name)
	}
	full := filepath.Join(s.aside, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(full), 0o777); err != nil {
		return nil, err
	}
	file, err := os.OpenFile(full, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return nil, err
	}
	s.files[key] = nil
	s.open++
	return &writer{stage: s, key: key, name: name, file: file, sum: sha256.New()}, nil
}

// checkName refuses names that leave the folder or that some system cannot
// hold.
func checkName(name string) error {
	local := filepath.FromSlash(name)
	if !fs.ValidPath(name) || name == "." || !filepath.IsLocal(local) || strings.ContainsAny(name, "\\:\x00") {
		return fmt.Errorf("output file %q: expected a clean relative path with slashes", name)
	}
	if strings.EqualFold(name, markName) {
		return fmt.Errorf("output file %q: the name is reserved", name)
	}
	return nil
}

// A writer counts and digests what goes into a file.
type writer struct {
	stage     *Stage
	key, name string
	file      *os.File
	sum       hash.Hash
	size      int64
	err       error
	closed    bool
}

// Write adds p to the file.
func (w *writer) Write(p []byte) (int, error) {
	n, err := w.file.Write(p)
	w.sum.Write(p[:n])
	w.size += int64(n)
	w.err = cmp.Or(w.err, err)
	return n, err
}

// Close ends the file and enters its size and digest in the list. A file that
// was not written whole is left out, which keeps Manifest from being written.
func (w *writer) Close() error {
	if w.closed {
		return nil
	}
	w.closed = true
	if w.err == nil {
		w.err = w.file.Sync()
	}
	err := w.file.Close()
	if w.err == nil {
		w.err = err
	}
	w.stage.mu.Lock()
	defer w.stage.mu.Unlock()
	if w.err == nil {
		w.stage.open--
		w.stage.files[w.key] = &File{Name: w.name, Size: w.size, SHA256: hex.EncodeToString(w.sum.Sum(nil))}
	}
	return w.err
}

// outputs lists the finished files by name.
func (s *Stage) outputs() ([]File, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.open > 0 {
		return nil, errors.New("manifest: a file is not closed, or was not written whole")
	}
	files := make([]File, 0, len(s.files))
	for _, f := range s.files {
		files = append(files, *f)
	}
	slices.SortFunc(files, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	return files, nil
}
