package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/rerun"
	"heelcohort/dataset/harmless"
)

func rerunCommand() *cobra.Command {
	var asJSON, asHTML outFile
	var data string
	tolerance := rerun.Tolerance
	c := &cobra.Command{
		Use:   "rerun BUNDLE.zip|DIR",
		Short: "Compute a bundle's results anew and say which numbers hold",
		Long: wrap(`Checks every file of a bundle, or of a study folder with results, against its recorded SHA-256; computes the results anew in a temporary folder, as run does; and compares every number with the stored one. What moved is told with its likely cause: a cell or row of the data, a line of the plan or the codebook, a seed, the program's version, results or figures edited by hand. Rows or sheets in another order that move no number are called harmless. Nothing in the bundle or the folder is changed. The report shows changed cells of the data: keep it within the study.

A bundle without data is computed from the data in the folder of --data.

Exit status: 0 every file is intact and every number holds, 1 something does not, 2 there was nothing to check.`),
		Example: "  heelcohort rerun mydemo.zip\n  heelcohort rerun --html rerun.html --json rerun.json mydemo",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("found %d arguments, expected one bundle or folder", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if !(tolerance >= 0 && tolerance < 1) {
				return fmt.Errorf("--tolerance %v, expected a number from 0 to below 1", tolerance)
			}
			asHTML.replace = asJSON.replace
			for _, out := range []*outFile{&asJSON, &asHTML} {
				if out.path == "" {
					continue
				}
				if err := out.check(); err != nil {
					return err
				}
			}
			r, err := rerunOf(c, rerun.Input{Dir: args[0], Source: baseName(args[0]), Data: data, Program: program, Tolerance: tolerance})
			if err != nil {
				return err
			}
			if err := writeReport(c, &asJSON, r.WriteJSON); err != nil {
				return err
			}
			if err := writeReport(c, &asHTML, r.HTML); err != nil {
				return err
			}
			listRerun(c.OutOrStdout(), r)
			if !r.Holds {
				return errReport
			}
			return nil
		},
	}
	c.Flags().Float64Var(&tolerance, "tolerance", rerun.Tolerance, "relative difference up to which a number holds")
	c.Flags().StringVar(&asJSON.path, "json", "", "also write the report as JSON to this file")
	c.Flags().StringVar(&asHTML.path, "html", "", "also write the report as a page to this file")
	c.Flags().BoolVar(&asJSON.replace, "replace", false, "replace the files of --json and --html if they exist")
	c.Flags().StringVar(&data, "data", "", "study folder with the data that a bundle without data does not hold")
	return c
}

// baseName is the last part of a path, of "." that of the folder it stands for.
func baseName(path string) string {
	if full, err := filepath.Abs(path); err == nil {
		path = full
	}
	return filepath.Base(path)
}

// rerunOf unpacks an archive aside where there is one, and reruns.
func rerunOf(c *cobra.Command, in rerun.Input) (*rerun.Report, error) {
	info, err := os.Stat(in.Dir)
	if err != nil {
		return nil, err
	}
	if !info.IsDir() {
		dir, err := os.MkdirTemp("", "heelcohort-")
		if err != nil {
			return nil, err
		}
		defer os.RemoveAll(dir)
		if err := bundle.Unpack(c.Context(), in.Dir, dir); err != nil {
			return nil, err
		}
		in.Dir = dir
	}
	bar := newProgress(c.ErrOrStderr())
	defer bar.done()
	in.Watch, in.Step = bar.watch(), bar.step
	r, err := rerun.Do(c.Context(), in)
	if err != nil && c.Context().Err() != nil {
		return nil, context.Cause(c.Context())
	}
	return r, err
}

// writeReport writes a form of the report to its file, where one is asked for.
func writeReport(c *cobra.Command, out *outFile, write func(io.Writer) error) error {
	if out.path == "" {
		return nil
	}
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	return out.write(c, b.Bytes())
}

// listRerun prints the report: files, what changed, the first numbers.
func listRerun(w io.Writer, r *rerun.Report) {
	const shown = 10
	fmt.Fprintf(w, "%s: files: %s.\n", harmless.Line(r.Source), r.FileSentence())
	for _, f := range r.Files {
		if f.Status != bundle.Intact && f.Status != bundle.WithheldData {
			fmt.Fprintf(w, "    %s: %s\n", f.Status, harmless.Line(f.Name))
		}
	}
	if r.Stopped != "" {
		fmt.Fprintf(w, "%s\n", r.Stopped)
	} else {
		fmt.Fprintf(w, "Computed anew by %s: %s. Files of the results with the same bytes: %d of %d.\n",
			r.Program, r.Sentence(), r.Outputs.Same, r.Outputs.Same+len(r.Outputs.Different))
	}
	if len(r.Changes) > 0 {
		fmt.Fprintln(w, "What changed:")
	}
	for _, c := range r.Changes {
		note := fmt.Sprintf("rows moved: %d", c.Moved)
		if c.Harmless {
			note = "harmless"
		}
		fmt.Fprintf(w, "    %s, %s: %s: %s [%s]\n", c.Label, c.Kind, harmless.Line(c.Place), harmless.Line(c.Detail), note)
	}
	if len(r.Changes) > 0 && !r.Apart {
		fmt.Fprintln(w, "    Not all inputs are at hand as they were recorded, or nothing was computed: the causes are likely, and not told apart.")
	}
	for i, row := range r.Rows {
		if i == shown {
			fmt.Fprintf(w, "    … and %d rows more; --html FILE and --json FILE list all\n", len(r.Rows)-shown)
			break
		}
		causes := ""
		if len(row.Causes) > 0 {
			causes = " (" + strings.Join(row.Causes, ", ") + ")"
		}
		fmt.Fprintf(w, "  %s: %s: %s%s\n", row.Verdict, harmless.Line(row.ID), harmless.Line(row.Text()), causes)
	}
	if n := len(r.Words); n > 0 {
		fmt.Fprintf(w, "Settings, labels or sentences that differ: %d, first: %s\n", n, harmless.Line(fmt.Sprintf("%s, %s: %q → %q", r.Words[0].Where, r.Words[0].What, r.Words[0].Before, r.Words[0].After)))
	}
	if r.Holds {
		fmt.Fprintln(w, "Everything holds.")
		return
	}
	fmt.Fprintln(w, "Not everything holds.")
}
