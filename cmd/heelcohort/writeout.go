package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
)

// An outFile is where a command writes its one text: the file of --out, or
// standard output.
type outFile struct {
	path    string
	replace bool
}

// flags declares --out and --replace.
func (o *outFile) flags(c *cobra.Command) {
	c.Flags().StringVar(&o.path, "out", "", "write to this file instead of standard output")
	c.Flags().BoolVar(&o.replace, "replace", false, "replace the file of --out if it exists")
}

// check refuses a file that exists, before any work is done.
func (o *outFile) check() error {
	if o.path == "" {
		if o.replace {
			return errors.New("--replace without --out, expected the file that it replaces")
		}
		return nil
	}
	info, err := os.Stat(o.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if _, err := os.Stat(filepath.Dir(o.path)); err != nil {
			return fmt.Errorf("the folder %s does not exist", filepath.Dir(o.path))
		}
		return nil
	case err != nil:
		return err
	case info.IsDir():
		return fmt.Errorf("%s is a folder, expected the name of a file", o.path)
	case !o.replace:
		return fmt.Errorf("%s exists and was left as it is; give --replace to replace it", o.path)
	}
	return nil
}

// write writes the text, a file as a whole or not at all.
func (o *outFile) write(c *cobra.Command, text []byte) error {
	if o.path == "" {
		_, err := c.OutOrStdout().Write(text)
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(o.path), ".heelcohort-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // not there any more where all went well
	_, err = f.Write(text)
	err = errors.Join(err, f.Chmod(0o644), f.Close())
	if err != nil {
		return err
	}
	if o.replace {
		return os.Rename(f.Name(), o.path)
	}
	if err := os.Link(f.Name(), o.path); err != nil {
		if errors.Is(err, fs.ErrExist) {
			return fmt.Errorf("%s exists and was left as it is; give --replace to replace it", o.path)
		}
		return os.Rename(f.Name(), o.path) // a file system without links
	}
	return nil
}
