package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/draft"
	"heelcohort/cmd/heelcohort/internal/printed"
)

func codebookDraftCommand() *cobra.Command {
	var out outFile
	c := &cobra.Command{
		Use:   "draft FILE...",
		Short: "Draft a codebook from data files",
		Long: wrap(`Reads workbooks and text files and drafts a codebook of them: a table for each sheet or text file, a variable for each column. Types, units, categories, missing codes, keys and roles are guessed. Each guess stands beside its reason (x-guessed) and each doubt beside the variable (x-notes); a person must confirm them one by one. What can be read in two ways, such as the order of day and month, is not chosen. Limits are never drawn from data: the range that was seen is noted (x-observed) and binds nothing.

The codebook accepts the draft, and check finds nothing in the same files but what is suspect. The draft goes to standard output, or to the file of --out; the data files must lie in that file's folder (without --out, in the current one) or below it.

The draft repeats words and ranges of the data, though no identifiers and no free text that it knows as such: keep it within the study.

Exit status 1: drafted, but a sheet or a column was left out; the reasons are printed.`),
		Example: "  heelcohort codebook draft data/registry.xlsx\n  heelcohort codebook draft mystudy/data/*.csv --out mystudy/codebook.yaml",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("found no argument, expected data files")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := out.check(); err != nil {
				return err
			}
			dir, names, err := below(out.path, args)
			if err != nil {
				return err
			}
			d, err := draft.Files(c.Context(), dir, names)
			if err != nil {
				return err
			}
			if err := out.write(c, []byte(d.Text)); err != nil {
				return err
			}
			if out.path != "" {
				fmt.Fprintf(c.OutOrStdout(), "Drafted %s to %s. It is a guess: read it through and confirm each line.\n", printed.Plural(d.Tables, "table"), out.path)
			}
			for _, reason := range d.LeftOut {
				fmt.Fprintf(c.ErrOrStderr(), "heelcohort: left out: %s\n", reason)
			}
			if len(d.LeftOut) > 0 {
				return errReport
			}
			return nil
		},
	}
	out.flags(c)
	return c
}

// below names files relative to the folder that the codebook will lie in.
func below(out string, files []string) (dir string, names []string, err error) {
	dir, where := ".", "the current folder"
	if out != "" {
		dir, where = filepath.Dir(out), "the folder of "+out
	}
	base, err := filepath.Abs(dir)
	if err != nil {
		return "", nil, err
	}
	seen := map[string]bool{}
	for _, file := range files {
		full, err := filepath.Abs(file)
		if err != nil {
			return "", nil, err
		}
		name, err := filepath.Rel(base, full)
		if err != nil || !filepath.IsLocal(name) {
			if _, missing := os.Stat(file); missing != nil {
				return "", nil, fmt.Errorf("%s: no such file", file)
			}
			return "", nil, fmt.Errorf("%s does not lie in %s, where a codebook finds its files; give --out with a file in a folder above it", file, where)
		}
		if name = filepath.ToSlash(name); seen[name] {
			return "", nil, fmt.Errorf("%s is named twice", file)
		}
		seen[name] = true
		names = append(names, name)
	}
	return dir, names, nil
}
