package bundle

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"

	"heelcohort/dataset/ooxml"
)

// maxArchive is the size of an archive that is read at most.
const maxArchive = 1 << 30

// Unpack writes the members of an archive into the existing folder dir. The
// archive is refused, before anything of it is written, for every fault that a
// workbook is refused for: names that lead out, members that stand twice or
// overlap, more members or bytes than are read; links and devices too.
func Unpack(ctx context.Context, archive, dir string) error {
	data, err := readArchive(archive)
	if err != nil {
		return err
	}
	members, err := ooxml.OpenZip(data)
	if err != nil {
		return fmt.Errorf("%s: %w", filepath.Base(archive), err)
	}
	for _, m := range members {
		if !m.Mode().IsRegular() {
			return fmt.Errorf("%s: member %q is no plain file", filepath.Base(archive), m.Name)
		}
		if !filepath.IsLocal(filepath.FromSlash(m.Name)) {
			return fmt.Errorf("%s: member %q has a name that leads out of the archive", filepath.Base(archive), m.Name)
		}
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return err
	}
	defer root.Close()
	for _, m := range members {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := makeFile(root, m.Name, func(w io.Writer) error { return ooxml.CopyMember(w, m) }); err != nil {
			return fmt.Errorf("%s: %w", filepath.Base(archive), err)
		}
	}
	return nil
}

func readArchive(archive string) ([]byte, error) {
	info, err := os.Stat(archive)
	switch {
	case err != nil:
		return nil, err
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: not a file", archive)
	case info.Size() > maxArchive:
		return nil, fmt.Errorf("%s: larger than the %d bytes that are read", archive, maxArchive)
	}
	return os.ReadFile(archive)
}

// makeFile makes a file and its folders within root.
func makeFile(root *os.Root, name string, write func(io.Writer) error) error {
	if folder := path.Dir(name); folder != "." {
		if err := root.MkdirAll(filepath.FromSlash(folder), 0o755); err != nil {
			return plain(name, err)
		}
	}
	f, err := root.OpenFile(filepath.FromSlash(name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return plain(name, err)
	}
	return errors.Join(write(f), f.Close())
}

// CopyAs copies one file, under another name.
func CopyAs(ctx context.Context, from, to *os.Root, name, as string) error {
	f, err := openFile(from, name)
	if err != nil {
		return err
	}
	defer f.Close()
	return makeFile(to, as, func(w io.Writer) error {
		_, err := io.Copy(w, &interruptible{ctx, f})
		return err
	})
}
