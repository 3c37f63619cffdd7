package bundle

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// long is when every member was made: the archive's form has no earlier time.
var long = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// Write writes the archive: its members by name, each without a time. A file
// that changed since it was hashed is refused.
func (b *Bundle) Write(ctx context.Context, w io.Writer) error {
	text, err := b.crate()
	if err != nil {
		return err
	}
	all := *b
	all.members = append([]member(nil), b.members...)
	all.made(Crate, partNote, text)
	all.sort()
	root, err := os.OpenRoot(b.study.Dir)
	if err != nil {
		return err
	}
	defer root.Close()
	z := zip.NewWriter(w)
	for _, m := range all.members {
		if err := writeMember(ctx, z, root, m); err != nil {
			return err
		}
	}
	return z.Close()
}

func writeMember(ctx context.Context, z *zip.Writer, root *os.Root, m member) error {
	head := &zip.FileHeader{Name: m.Name, Method: zip.Deflate, Modified: long}
	if packed(m.Name) {
		head.Method = zip.Store
	}
	head.SetMode(0o644)
	out, err := z.CreateHeader(head)
	if err != nil {
		return fmt.Errorf("%s: %w", m.Name, err)
	}
	var in io.Reader = bytes.NewReader(m.data)
	if m.data == nil {
		f, err := openFile(root, m.Name)
		if err != nil {
			return err
		}
		defer f.Close()
		in = f
	}
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(out, sum), &interruptible{ctx, in}); err != nil {
		return err
	}
	if hex.EncodeToString(sum.Sum(nil)) != m.SHA256 {
		return fmt.Errorf("%s: changed while the bundle was being written", m.Name)
	}
	return nil
}

// interruptible reads until its context ends.
type interruptible struct {
	ctx context.Context
	io.Reader
}

func (r *interruptible) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	return r.Reader.Read(p)
}

// WriteFile writes the archive to a file, which is replaced as a whole once the
// archive has been read back and every digest in it has been found right; until
// then, and where anything fails, it stays as it was. It gives the archive's
// SHA-256.
func (b *Bundle) WriteFile(ctx context.Context, name string) (sum string, err error) {
	if err := b.target(name); err != nil {
		return "", err
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".heelcohort-*")
	if err != nil {
		return "", err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, removed(f.Name()))
		}
	}()
	digest := sha256.New()
	err = b.Write(ctx, io.MultiWriter(f, digest))
	if err == nil {
		err = f.Sync()
	}
	err = errors.Join(err, f.Chmod(0o644), f.Close())
	if err == nil {
		err = readBack(ctx, f.Name())
	}
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return "", err
	}
	return hex.EncodeToString(digest.Sum(nil)), os.Rename(f.Name(), name)
}

// removed removes a file, if it is there.
func removed(name string) error {
	if err := os.Remove(name); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// target refuses names whose file must not be replaced.
func (b *Bundle) target(name string) error {
	if !strings.EqualFold(filepath.Ext(name), ".zip") {
		return fmt.Errorf("%s: expected the name of a file that ends in .zip", name)
	}
	info, err := os.Stat(name)
	switch {
	case errors.Is(err, os.ErrNotExist):
		info = nil
	case err != nil:
		return err
	case !info.Mode().IsRegular():
		return fmt.Errorf("%s: not a file", name)
	}
	for _, m := range b.members {
		own := filepath.Join(b.study.Dir, filepath.FromSlash(m.Name))
		if have, err := os.Stat(own); err == nil && info != nil && os.SameFile(have, info) {
			return fmt.Errorf("%s: a file of the study, which the bundle may not replace", name)
		}
	}
	results, err := os.Stat(filepath.Join(b.study.Dir, filepath.Dir(filepath.FromSlash(manifest))))
	if err != nil {
		return err
	}
	for dir := filepath.Dir(absolute(name)); ; dir = filepath.Dir(dir) {
		if have, err := os.Stat(dir); err == nil && os.SameFile(have, results) {
			return fmt.Errorf("%s: within the results, which belong to the run alone", name)
		}
		if dir == filepath.Dir(dir) {
			return nil
		}
	}
}

func absolute(name string) string {
	full, err := filepath.Abs(name)
	if err != nil {
		return name
	}
	return full
}

// readBack unpacks the archive as a reader will and checks every digest.
func readBack(ctx context.Context, name string) error {
	dir, err := os.MkdirTemp("", "heelcohort-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	if err := Unpack(ctx, name, dir); err != nil {
		return fmt.Errorf("the bundle cannot be read back: %w", err)
	}
	inventory, err := Check(dir)
	if err != nil {
		return fmt.Errorf("the bundle cannot be read back: %w", err)
	}
	for _, f := range inventory.Files {
		if f.Status != Intact && f.Status != WithheldData {
			return fmt.Errorf("the bundle cannot be read back: %s is %s", f.Name, f.Status)
		}
	}
	return nil
}
