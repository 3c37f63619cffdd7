package bundle

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/output"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset"
)

// Names of files in a bundle.
const (
	Crate    = "ro-crate-metadata.json"
	Preview  = "ro-crate-preview.html"
	Withheld = "data-withheld.json"
	manifest = publish.Folder + "/manifest.json"
	checked  = publish.Folder + "/checked/"
)

// What a file is in the study.
const (
	partInput   = "input"
	partOutput  = "output"
	partLicence = "licence"
	partNote    = "note"
)

// A member is one file of the bundle.
type member struct {
	output.File
	part string
	data []byte // of a file that is made for the bundle; else nil
}

// A Bundle is everything that goes into an archive, hashed and checked.
type Bundle struct {
	study    *run.Study
	manifest *output.Manifest
	members  []member
	withheld []WithheldFile
}

// A WithheldFile is a data file that the bundle describes and does not hold.
type WithheldFile struct {
	output.File
	Tables []WithheldTable `json:"tables"`
}

// A WithheldTable is a table of a withheld file.
type WithheldTable struct {
	Name  string `json:"name"`
	Sheet string `json:"sheet"`
	Rows  int    `json:"rows"`
}

// Options of Prepare; the zero value takes everything in.
type Options struct{ WithoutData bool }

// Prepare gathers what the bundle of a study holds. d and findings are those
// of the study as it lies on the disk now. It returns a *Findings where the
// data have findings that the plan does not except, or may name people, and a
// plain error where results are missing or not those of the study.
func Prepare(s *run.Study, d *dataset.Dataset, findings []dataset.Finding, opts Options) (*Bundle, error) {
	if err := refuse(s, findings); err != nil {
		return nil, err
	}
	if s.Plan.Date == nil {
		return nil, fmt.Errorf("%s: no date, expected the day of publication that the bundle carries, such as date: 2026-03-31", s.Plan.File)
	}
	root, err := os.OpenRoot(s.Dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	b := &Bundle{study: s}
	if err := b.results(root, d); err != nil {
		return nil, err
	}
	if err := b.computed(root); err != nil {
		return nil, err
	}
	if opts.WithoutData {
		if err := withholdable(s, findings); err != nil {
			return nil, err
		}
	}
	if err := b.inputs(root, d, opts); err != nil {
		return nil, err
	}
	if err := b.licence(root); err != nil {
		return nil, err
	}
	if opts.WithoutData {
		b.members = slices.DeleteFunc(b.members, func(m member) bool { return strings.HasPrefix(m.Name, checked) })
	}
	b.sort()
	folded := map[string]string{strings.ToLower(Crate): Crate}
	for _, m := range b.members {
		key := strings.ToLower(m.Name)
		switch other, twice := folded[key]; {
		case twice && other == m.Name:
			return nil, fmt.Errorf("%s: the name belongs to the bundle", m.Name)
		case twice:
			return nil, fmt.Errorf("%s and %s: two files of a bundle may not differ in capitals only", other, m.Name)
		}
		folded[key] = m.Name
	}
	return b, nil
}

func (b *Bundle) sort() {
	slices.SortFunc(b.members, func(a, b member) int { return strings.Compare(a.Name, b.Name) })
}

// again says what to do where results do not fit.
func again(s *run.Study) string { return fmt.Sprintf("; run: heelcohort run %s", s.Dir) }

// results takes in the results folder after every file in it, and every input
// of the study as it is now, has been compared with the manifest.
func (b *Bundle) results(root *os.Root, d *dataset.Dataset) error {
	f, err := hashFile(root, manifest)
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: there are no results%s", manifest, again(b.study))
	}
	if err != nil {
		return err
	}
	if b.manifest, err = readManifest(root); err != nil {
		return err
	}
	now := map[string]string{}
	for _, source := range b.study.Sources {
		sum := sha256.Sum256(source.Data)
		now[source.Name] = hex.EncodeToString(sum[:])
	}
	for _, file := range d.Files {
		now[file.Path] = file.SHA256
	}
	for _, in := range b.manifest.Inputs {
		switch sum, there := now[in.Name]; {
		case !there:
			return fmt.Errorf("%s: the results were made from it, and the study does not read it%s", in.Name, again(b.study))
		case sum != in.SHA256:
			return fmt.Errorf("%s: changed since the results were made%s", in.Name, again(b.study))
		}
		delete(now, in.Name)
	}
	for _, name := range sortedKeys(now) {
		return fmt.Errorf("%s: the results were not made from it%s", name, again(b.study))
	}
	listed := map[string]bool{manifest: true}
	b.members = append(b.members, member{File: f, part: partOutput})
	for _, out := range b.manifest.Outputs {
		name := publish.Folder + "/" + out.Name
		listed[name] = true
		f, err := hashFile(root, name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return fmt.Errorf("%s: missing from the results%s", name, again(b.study))
		case err != nil:
			return err
		case f.SHA256 != out.SHA256:
			return fmt.Errorf("%s: altered since the run wrote it%s", name, again(b.study))
		}
		b.members = append(b.members, member{File: f, part: partOutput})
	}
	return eachFile(root, publish.Folder, func(name string) error {
		if !listed[name] {
			return fmt.Errorf("%s: not written by the run, and so no part of its results; move it out of %s", name, publish.Folder)
		}
		return nil
	})
}

// computed refuses results that hold findings only.
func (b *Bundle) computed(root *os.Root) error {
	f, err := root.Open(filepath.FromSlash(publish.Folder + "/results.json"))
	if err != nil {
		return plain(publish.Folder+"/results.json", err)
	}
	defer f.Close()
	res, err := result.ReadJSON(f)
	if err != nil {
		return fmt.Errorf("%s/results.json: %w%s", publish.Folder, err, again(b.study))
	}
	if !res.Computed {
		return fmt.Errorf("%s/results.json: nothing was computed, for the data have errors; correct them%s", publish.Folder, again(b.study))
	}
	return refuseCounts(b.study, res.Findings)
}

// inputs takes in plan, codebook, tables of references and data, or what
// stands for the data.
func (b *Bundle) inputs(root *os.Root, d *dataset.Dataset, opts Options) error {
	for _, source := range b.study.Sources {
		f, err := hashFile(root, source.Name)
		if err != nil {
			return err
		}
		b.members = append(b.members, member{File: f, part: partInput})
	}
	for _, file := range d.Files {
		f := output.File{Name: file.Path, Size: file.Bytes, SHA256: file.SHA256}
		if !opts.WithoutData {
			b.members = append(b.members, member{File: f, part: partInput})
			continue
		}
		w := WithheldFile{File: f, Tables: []WithheldTable{}}
		for _, t := range d.Tables {
			if t.File == file.Path {
				w.Tables = append(w.Tables, WithheldTable{t.Name, t.Sheet, t.Len()})
			}
		}
		b.withheld = append(b.withheld, w)
	}
	if !opts.WithoutData {
		return nil
	}
	slices.SortFunc(b.withheld, func(a, b WithheldFile) int { return strings.Compare(a.Name, b.Name) })
	note, err := json.MarshalIndent(struct {
		Files []WithheldFile `json:"files"`
	}{b.withheld}, "", " ")
	if err != nil {
		return err
	}
	b.made(Withheld, partNote, append(note, '\n'))
	return nil
}

// made adds a file that the bundle alone has.
func (b *Bundle) made(name, part string, data []byte) {
	sum := sha256.Sum256(data)
	f := output.File{Name: name, Size: int64(len(data)), SHA256: hex.EncodeToString(sum[:])}
	b.members = append(b.members, member{File: f, part: part, data: data})
}

// licenceNames are names of a licence's text, in small letters.
var licenceNames = []string{"license", "licence", "license.txt", "licence.txt", "license.md", "licence.md"}

// licence takes in the text of a licence that lies beside the plan.
func (b *Bundle) licence(root *os.Root) error {
	entries, err := fs.ReadDir(root.FS(), ".")
	if err != nil {
		return err
	}
	for _, e := range entries {
		if !slices.Contains(licenceNames, strings.ToLower(e.Name())) || e.IsDir() {
			continue
		}
		f, err := hashFile(root, e.Name())
		if err != nil {
			return err
		}
		b.members = append(b.members, member{File: f, part: partLicence})
	}
	return nil
}

// hashFile is the size and digest of a regular file within root.
func hashFile(root *os.Root, name string) (output.File, error) {
	f, err := openFile(root, name)
	if err != nil {
		return output.File{}, err
	}
	defer f.Close()
	sum := sha256.New()
	size, err := io.Copy(sum, f)
	if err != nil {
		return output.File{}, plain(name, err)
	}
	return output.File{Name: name, Size: size, SHA256: hex.EncodeToString(sum.Sum(nil))}, nil
}

// openFile opens a regular file; a link may lead to another place in root and
// nowhere else.
func openFile(root *os.Root, name string) (*os.File, error) {
	local := filepath.FromSlash(name)
	info, err := root.Stat(local)
	if err != nil {
		return nil, plain(name, err)
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: not a file", name)
	}
	f, err := root.Open(local)
	if err != nil {
		return nil, plain(name, err)
	}
	return f, nil
}

// plain is an error without the place of the folder on this machine.
func plain(name string, err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return fmt.Errorf("%s: %w", name, err)
}

// eachFile visits the files below a folder by name; a folder that is not there
// has none.
func eachFile(root *os.Root, folder string, visit func(name string) error) error {
	err := fs.WalkDir(root.FS(), folder, func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		return visit(path.Clean(name))
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

func readManifest(root *os.Root) (*output.Manifest, error) {
	f, err := openFile(root, manifest)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	m, err := output.ReadManifest(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", manifest, err)
	}
	return m, nil
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
