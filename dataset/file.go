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
	"syscall"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// readFile reads a data file whole. Reading once gives one state of the file
// to every later step, and its hash. Only a regular file in the study folder
// is opened: a pipe or a device would wait for ever, and a link that leads out
// of the folder would read what was not delivered with it.
func readFile(dir, name string) ([]byte, File, error) {
	where := Origin{File: name}
	local := filepath.FromSlash(name)
	if !filepath.IsLocal(local) {
		return nil, File{}, refuse(where, "the path leads out of the study folder")
	}
	full := filepath.Join(dir, local)
	if err := checkPath(where, dir, full); err != nil {
		return nil, File{}, err
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, File{}, unreadable(where, err)
	}
	defer root.Close()
	// Not blocking: had the file become a pipe meanwhile, opening would wait.
	f, err := root.OpenFile(local, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	if err != nil {
		return nil, File{}, unreadable(where, err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, File{}, unreadable(where, err)
	}
	most := sizeLimit(name)
	if err := checkKind(where, info, most); err != nil {
		return nil, File{}, err
	}
	sum := sha256.New()
	var data bytes.Buffer
	data.Grow(int(info.Size()) + bytes.MinRead)
	n, err := io.Copy(io.MultiWriter(&data, sum), io.LimitReader(f, most+1))
	if err != nil {
		return nil, File{}, unreadable(where, err)
	}
	if n > most {
		return nil, File{}, refuse(where, "more than the %d bytes that are read", most)
	}
	return data.Bytes(), File{Path: name, SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: n}, nil
}

// sizeLimit is the greatest size of a file: a text is held twice while it is
// decoded.
func sizeLimit(name string) int64 {
	if usualDelimiter(name) != 0 {
		return maxTextFile
	}
	return maxFileBytes
}

// checkPath refuses what is not a file in the study folder, before it is
// opened.
func checkPath(where Origin, dir, full string) error {
	info, err := os.Stat(full)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if link, e := os.Lstat(full); e == nil && link.Mode()&fs.ModeSymlink != 0 {
			return refuse(where, "a symbolic link to a file that does not exist; put the file itself there")
		}
		return &ReadError{Where: where, Message: "no such file", Nearest: nearestFile(full, where.File), Err: err}
	case err != nil:
		return unreadable(where, err)
	}
	if err := checkKind(where, info, sizeLimit(where.File)); err != nil {
		return err
	}
	root, err := filepath.EvalSymlinks(dir)
	if err != nil {
		return unreadable(where, err)
	}
	target, err := filepath.EvalSymlinks(full)
	if err != nil {
		return unreadable(where, err)
	}
	if inside, err := filepath.Rel(root, target); err != nil || !filepath.IsLocal(inside) {
		return refuse(where, "a symbolic link that leads out of the study folder; put the file itself there")
	}
	return nil
}

// checkKind refuses all but regular files of a size that is read.
func checkKind(where Origin, info fs.FileInfo, most int64) error {
	mode := info.Mode()
	switch {
	case info.IsDir():
		return refuse(where, "a folder, expected a file")
	case mode&fs.ModeNamedPipe != 0:
		return refuse(where, "a pipe, expected a file; write its data into a file")
	case mode&fs.ModeDevice != 0:
		return refuse(where, "a device, expected a file")
	case !mode.IsRegular():
		return refuse(where, "not a regular file")
	case info.Size() > most:
		return refuse(where, "%d bytes, more than the %d that are read", info.Size(), most)
	}
	return nil
}

// unreadable is the error for a file that the system does not give.
func unreadable(where Origin, err error) error {
	e := &ReadError{Where: where, Message: cause(err).Error(), Err: err}
	if errors.Is(err, fs.ErrPermission) {
		e.Message = "you may not read this file; ask for the right to"
	}
	return e
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
