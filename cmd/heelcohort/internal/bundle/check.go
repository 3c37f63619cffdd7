package bundle

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/output"
	"heelcohort/cmd/heelcohort/internal/publish"
)

// A Status says how a file stands to what is recorded of it.
type Status string

// The states of a file.
const (
	Intact       Status = "intact"
	Altered      Status = "altered"
	Missing      Status = "missing"
	Additional   Status = "additional"
	WithheldData Status = "withheld"
)

// A File is a file of a bundle or a study folder.
type File struct {
	Name     string `json:"name"`
	Status   Status `json:"status"`
	Input    bool   `json:"input"`    // the results were made from it
	Recorded string `json:"recorded"` // SHA-256; "" of an additional file
	Found    string `json:"found"`    // SHA-256; "" of a file that is not there
}

// An Inventory is every file with its state, by name.
type Inventory struct {
	Bundle   bool             // there is a ro-crate-metadata.json
	Manifest *output.Manifest // nil where it is missing or cannot be read
	Fault    error            // why Manifest is nil
	Files    []File
}

// File finds a file by name.
func (i *Inventory) File(name string) (File, bool) {
	for _, f := range i.Files {
		if f.Name == name {
			return f, true
		}
	}
	return File{}, false
}

// a record is what is said of a file.
type record struct {
	crate, manifest string // SHA-256; ""
	input, withheld bool
}

// Check compares every file of an unpacked bundle, or of a study folder with
// results, with the digests of ro-crate-metadata.json and of the results'
// manifest. Without the former a file is additional only in the results
// folder.
func Check(dir string) (*Inventory, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	i := &Inventory{}
	records := map[string]*record{}
	of := func(name string) *record {
		if records[name] == nil {
			records[name] = &record{}
		}
		return records[name]
	}
	if i.Bundle, err = readCrate(root, of); err != nil {
		return nil, err
	}
	withheld, err := readWithheld(root, of)
	if err != nil {
		return nil, err
	}
	i.Manifest, i.Fault = readManifest(root)
	if i.Manifest == nil && !i.Bundle {
		if errors.Is(i.Fault, fs.ErrNotExist) {
			return nil, fmt.Errorf("neither a bundle nor a study with results: there is no %s and no %s", Crate, manifest)
		}
		return nil, i.Fault
	}
	if i.Manifest != nil {
		for _, f := range i.Manifest.Inputs {
			r := of(f.Name)
			r.manifest, r.input = f.SHA256, true
		}
		for _, f := range i.Manifest.Outputs {
			name := publish.Folder + "/" + f.Name
			r := of(name)
			r.manifest = f.SHA256
			r.withheld = withheld && strings.HasPrefix(name, checked)
		}
	}
	for _, name := range sortedKeys(records) {
		f, err := records[name].state(root, name)
		if err != nil {
			return nil, err
		}
		i.Files = append(i.Files, f)
	}
	folder := publish.Folder
	if i.Bundle {
		folder = "."
	}
	err = eachFile(root, folder, func(name string) error {
		if records[name] != nil || name == Crate || name == Preview || name == manifest && !i.Bundle {
			return nil
		}
		f, err := hashFile(root, name)
		if err != nil {
			f.Name, err = name, nil // a pipe or a link out is additional, and not read
		}
		i.Files = append(i.Files, File{Name: name, Status: Additional, Found: f.SHA256})
		return err
	})
	slices.SortFunc(i.Files, func(a, b File) int { return strings.Compare(a.Name, b.Name) })
	return i, err
}

// state compares one file with what is recorded of it.
func (r *record) state(root *os.Root, name string) (File, error) {
	f := File{Name: name, Input: r.input, Recorded: r.manifest}
	if f.Recorded == "" {
		f.Recorded = r.crate
	}
	found, err := hashFile(root, name)
	switch {
	case errors.Is(err, fs.ErrNotExist) && r.withheld:
		f.Status = WithheldData
	case errors.Is(err, fs.ErrNotExist):
		f.Status = Missing
	case err != nil:
		return f, err
	case r.manifest != "" && r.manifest != found.SHA256, r.crate != "" && r.crate != found.SHA256:
		f.Status, f.Found = Altered, found.SHA256
		if f.Recorded == f.Found {
			f.Recorded = r.crate
		}
	default:
		f.Status, f.Found = Intact, found.SHA256
	}
	return f, nil
}

// readCrate records the digests of the crate's files, and reports whether there
// is one.
func readCrate(root *os.Root, of func(string) *record) (bool, error) {
	data, err := readSmall(root, Crate)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	var doc struct {
		Graph []struct {
			ID     string `json:"@id"`
			Type   any    `json:"@type"`
			SHA256 string `json:"sha256"`
		} `json:"@graph"`
	}
	if err := json.Unmarshal(data, &doc); err != nil {
		return false, fmt.Errorf("%s: %w", Crate, err)
	}
	for _, e := range doc.Graph {
		if e.Type != "File" || e.SHA256 == "" {
			continue
		}
		name, err := url.PathUnescape(e.ID)
		if err != nil || !fs.ValidPath(name) {
			return false, fmt.Errorf("%s: file %q, expected a path within the bundle", Crate, e.ID)
		}
		of(name).crate = e.SHA256
	}
	return true, nil
}

// readWithheld records the data files that the bundle does not hold, and
// reports whether there are any.
func readWithheld(root *os.Root, of func(string) *record) (bool, error) {
	data, err := readSmall(root, Withheld)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	var doc struct {
		Files []WithheldFile `json:"files"`
	}
	if err := json.Unmarshal(data, &doc); err != nil {
		return false, fmt.Errorf("%s: %w", Withheld, err)
	}
	for _, f := range doc.Files {
		if !fs.ValidPath(f.Name) {
			return false, fmt.Errorf("%s: file %q, expected a path within the study", Withheld, f.Name)
		}
		r := of(f.Name)
		r.manifest, r.input, r.withheld = f.SHA256, true, true
	}
	return len(doc.Files) > 0, nil
}

// maxNote is the size of a file about files that is read at most.
const maxNote = 64 << 20

func readSmall(root *os.Root, name string) ([]byte, error) {
	f, err := openFile(root, name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxNote+1))
	if err == nil && len(data) > maxNote {
		err = fmt.Errorf("larger than the %d bytes that are read", maxNote)
	}
	if err != nil {
		return nil, plain(name, err)
	}
	return data, nil
}

// Digest is the SHA-256 of a file of a folder. A file that is not there is
// fs.ErrNotExist.
func Digest(dir, name string) (string, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return "", err
	}
	defer root.Close()
	f, err := hashFile(root, name)
	return f.SHA256, err
}
