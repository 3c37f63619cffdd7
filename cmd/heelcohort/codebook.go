package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
)

func codebookCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "codebook",
		Short: "Turn a codebook into other forms",
		Long:  wrap(`Commands for people who write codebooks. A codebook is a file of its own; no study folder is needed.`),
		Args:  cobra.NoArgs,
		RunE:  func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(codebookSheetCommand(), codebookTemplateCommand())
	return c
}

// writeAside writes a file whole or not at all: it is written under another
// name in the same folder and then renamed. A file that is there is replaced
// only if that was asked for.
func writeAside(name string, data []byte, replace bool) (err error) {
	info, err := os.Lstat(name)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("%s is a folder, expected a file", name)
	case err == nil && !replace:
		return fmt.Errorf("%s exists and was left as it is; --replace writes it anew", name)
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".heelcohort-*")
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("%s: %w", name, err)
			_ = os.Remove(f.Name())
		}
	}()
	if _, err = f.Write(data); err == nil {
		err = f.Chmod(0o644)
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
