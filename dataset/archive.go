package dataset

import (
	"archive/zip"
	"bytes"
	"io"
	"io/fs"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// A sortedArchive collects the parts of a workbook and writes them in one
// fixed order without times, so that equal sheets give equal bytes. Excelize
// itself writes streamed sheets in the order of a map.
type sortedArchive struct {
	out   io.Writer
	parts map[string]*bytes.Buffer
}

func newSortedArchive(w io.Writer) excelize.ZipWriter {
	return &sortedArchive{out: w, parts: make(map[string]*bytes.Buffer)}
}

// Create begins a part.
func (a *sortedArchive) Create(name string) (io.Writer, error) {
	b := new(bytes.Buffer)
	a.parts[name] = b
	return b, nil
}

// AddFS is not used by the writing of workbooks.
func (a *sortedArchive) AddFS(fs.FS) error { return fs.ErrInvalid }

// Close writes the archive: the list of content types and the root
// relationships first, as readers expect, then all others by name.
func (a *sortedArchive) Close() error {
	names := make([]string, 0, len(a.parts))
	for name := range a.parts {
		names = append(names, name)
	}
	rank := func(name string) int {
		switch name {
		case "[Content_Types].xml":
			return 0
		case "_rels/.rels":
			return 1
		}
		return 2
	}
	slices.SortFunc(names, func(a, b string) int {
		if c := rank(a) - rank(b); c != 0 {
			return c
		}
		return strings.Compare(a, b)
	})
	z := zip.NewWriter(a.out)
	for _, name := range names {
		if err := writePart(z, name, a.parts[name].Bytes()); err != nil {
			return err
		}
	}
	return z.Close()
}
