package dataset

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// readFile reads a data file whole. Reading once gives one state of the file
// to every later step, and its hash.
func readFile(dir, name string) ([]byte, File, error) {
	where := Origin{File: name}
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return nil, File{}, refuse(where, "the path leads out of the study folder")
	}
	full := filepath.Join(dir, filepath.FromSlash(name))
	info, err := os.Stat(full)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, File{}, &ReadError{Where: where, Message: "no such file", Nearest: nearestFile(full, name), Err: err}
	case err != nil:
		return nil, File{}, &ReadError{Where: where, Message: cause(err).Error(), Err: err}
	case info.IsDir():
		return nil, File{}, refuse(where, "a folder, expected a file")
	case info.Size() > maxFileBytes:
		return nil, File{}, refuse(where, "%d bytes, more than the %d that are read", info.Size(), int64(maxFileBytes))
	}
	f, err := os.Open(full)
	if err != nil {
		return nil, File{}, &ReadError{Where: where, Message: cause(err).Error(), Err: err}
	}
	defer f.Close()
	sum := sha256.New()
	var data bytes.Buffer
	data.Grow(int(info.Size()) + 1)
	n, err := io.Copy(io.MultiWriter(&data, sum), io.LimitReader(f, maxFileBytes+1))
	if err != nil {
		return nil, File{}, &ReadError{Where: where, Message: cause(err).Error(), Err: err}
	}
	if n > maxFileBytes {
		return nil, File{}, refuse(where, "more than the %d bytes that are read", int64(maxFileBytes))
	}
	return data.Bytes(), File{Path: name, SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: n}, nil
}

// checkFile compares a file with the size and digest that the codebook gives
// for it, where it does. Another file than the one meant is refused.
func checkFile(f File, r *codebook.Resource) error {
	where := Origin{File: f.Path}
	if r.Bytes != nil && int64(*r.Bytes) != f.Bytes {
		return refuse(where, "%d bytes, expected %d: the codebook describes another state of the file", f.Bytes, *r.Bytes)
	}
	if r.Hash == "" {
		return nil
	}
	method, digest, _ := strings.Cut(r.Hash, ":")
	if !strings.EqualFold(method, "sha256") {
		return refuse(where, "digest %q in the codebook, expected one that begins with sha256:", r.Hash)
	}
	if !strings.EqualFold(digest, f.SHA256) {
		return refuse(where, "SHA-256 %s, expected %s: the codebook describes another state of the file", f.SHA256, digest)
	}
	return nil
}

// cause is err without the path that the operating system puts before it.
func cause(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// nearestFile is the name in the file's folder that is nearest to name.
func nearestFile(full, name string) string {
	nearest := document.NearestFile(filepath.Dir(full), path.Base(name))
	if nearest == "" {
		return ""
	}
	return path.Join(path.Dir(name), nearest)
}

// A fileSort is a format that can be read.
type fileSort uint8

const (
	textFile fileSort = iota
	workbookFile
)

// sortOf decides from name and first bytes how a file is read, and refuses
// what cannot be read with one sentence that says what to do.
func sortOf(name string, data []byte) (fileSort, error) {
	where := Origin{File: name}
	ext := strings.ToLower(path.Ext(name))
	compound := bytes.HasPrefix(data, []byte{0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1})
	zipped := bytes.HasPrefix(data, []byte("PK\x03\x04"))
	switch ext {
	case ".csv", ".tsv":
		if compound || zipped {
			return 0, refuse(where, "a workbook under the name of a text file; give it the ending .xlsx")
		}
		return textFile, nil
	case ".xlsx":
		switch {
		case zipped:
			return workbookFile, nil
		case compound:
			return 0, refuse(where, "the workbook is protected by a password or in the old .xls format; save it as .xlsx without a password")
		case len(data) == 0:
			return 0, refuse(where, "the file is empty")
		}
		return 0, refuse(where, "not a workbook in xlsx format; save it again as .xlsx")
	case ".xls", ".xlsb":
		return 0, refuse(where, "workbooks in %s format are not read; save it as .xlsx", ext)
	case ".xlsm", ".xltm", ".xlam":
		return 0, refuse(where, "workbooks with macros are not read; save it as .xlsx")
	case ".ods", ".numbers":
		return 0, refuse(where, "spreadsheets in %s format are not read; save it as .xlsx", ext)
	}
	return 0, refuse(where, "file ending %q, expected .xlsx, .csv or .tsv", ext)
}
