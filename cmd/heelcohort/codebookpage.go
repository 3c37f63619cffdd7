package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/codebookpage"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

func codebookPageCommand() *cobra.Command {
	var out outFile
	var small int
	var withoutData bool
	c := &cobra.Command{
		Use:   "page DIR|CODEBOOK",
		Short: "Write a codebook as a page, with the distribution of each variable",
		Long: wrap(fmt.Sprintf(`Writes the codebook of the study in DIR, or a codebook file, as one HTML page that needs no network and no script and prints well: every table with its keys and rules and the rows that break them, every variable with its meaning, unit, limits, categories and missing codes, and beside it what the data hold: cells present, missing and invalid, categories counted, numbers with quartiles and a histogram. Where no data file is there, or with --without-data, it is a page of the codebook alone.

No row, identifier, free text or single day is shown. Categories with fewer than %d cells are shown as such, and a minimum or maximum only of twenty values and more; --small sets another number than %d, and 0 shows all. The page stays within the study all the same.

Exit status 1: written, and the data do not all agree with the codebook; check lists what was found.`, codebookpage.DefaultSmall, codebookpage.DefaultSmall)),
		Example: "  heelcohort codebook page mydemo --out codebook.html\n  heelcohort codebook page mydemo/codebook.yaml --without-data",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("found %d arguments, expected one study folder or codebook", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if small < 0 {
				return fmt.Errorf("--small is %d, expected 0 or more", small)
			}
			if err := out.check(); err != nil {
				return err
			}
			dir, name, pkg, err := readPageCodebook(args[0])
			if err != nil {
				return err
			}
			in := codebookpage.Input{Package: pkg, File: name, Small: small, Program: program, Caution: run.Caution}
			if !withoutData {
				if err := pageData(c, dir, &in); err != nil {
					return err
				}
			}
			var page bytes.Buffer
			if err := codebookpage.HTML(&page, in); err != nil {
				return err
			}
			if err := out.write(c, page.Bytes()); err != nil {
				return err
			}
			if out.path != "" {
				fmt.Fprintf(c.OutOrStdout(), "Wrote the page of %s to %s.\n", printed.Plural(len(pkg.Resources), "table"), out.path)
			}
			if len(in.Findings) > 0 {
				fmt.Fprintf(c.ErrOrStderr(), "heelcohort: %s in the data; heelcohort check lists them\n", printed.Plural(len(in.Findings), "finding"))
				return errReport
			}
			return nil
		},
	}
	out.flags(c)
	c.Flags().IntVar(&small, "small", codebookpage.DefaultSmall, "show categories with fewer cells than this as such; 0 shows all")
	c.Flags().BoolVar(&withoutData, "without-data", false, "write the page of the codebook alone")
	return c
}

// readPageCodebook reads the codebook that an argument means, a codebook file
// or that of a study folder, with its folder and name.
func readPageCodebook(arg string) (dir, name string, pkg *codebook.Package, err error) {
	if info, statErr := os.Stat(arg); statErr == nil && info.IsDir() {
		name, pkg, err = run.Codebook(arg)
		return arg, name, pkg, err
	}
	_, pkg, err = readCodebookFile(arg)
	return filepath.Dir(arg), filepath.Base(arg), pkg, err
}

// pageData reads and validates the data, where any are there.
func pageData(c *cobra.Command, dir string, in *codebookpage.Input) error {
	there := false
	for _, r := range in.Package.Resources {
		if _, err := os.Stat(filepath.Join(dir, filepath.FromSlash(r.Path))); err == nil {
			there = true
		}
	}
	if !there {
		fmt.Fprintln(c.ErrOrStderr(), "heelcohort: no data file is there: a page of the codebook alone")
		return nil
	}
	bar := newProgress(c.ErrOrStderr())
	data, findings, err := dataset.Open(c.Context(), dir, in.Package, dataset.Options{Progress: bar.watch().File})
	bar.done()
	if err != nil {
		return err
	}
	more, err := dataset.Validate(c.Context(), data)
	if err != nil {
		return err
	}
	in.Data = data
	in.Findings, err = dataset.Screen(c.Context(), data, append(findings, more...))
	return err
}
