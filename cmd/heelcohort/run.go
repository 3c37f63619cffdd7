package main

import (
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset/harmless"
)

func runCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "run DIR",
		Short: "Run a study's analysis plan and write DIR/results",
		Long: wrap(`Checks the study in DIR, computes every analysis of its plan and writes DIR/results: report.html, tables.xlsx, tables/, figures/, results.json with its schema, findings.csv, checked/, inputs/, methods.md and manifest.json. The folder is replaced as a whole or not at all.

When the data have errors nothing is computed, unless the plan says "faults: set-missing"; the report then shows the findings alone, and the exit status is 1. When the data name people (names, addresses, phone or record numbers, dates of birth), nothing is computed or written whatever the plan says.`),
		Example: "  heelcohort run mydemo",
		Args:    oneFolder,
		RunE: func(c *cobra.Command, args []string) error {
			s, err := run.Read(args[0])
			if err != nil {
				return err
			}
			bar := newProgress(c.ErrOrStderr())
			o, err := s.Compute(c.Context(), program, bar.watch())
			if err == nil && o.Identified() {
				bar.done()
				fmt.Fprintf(c.OutOrStdout(), "Nothing was computed and nothing was written: the data hold what names people. Remove it, or declare in the codebook why it may stay; heelcohort check --marked FOLDER %s marks the cells.\n", args[0])
				listFindings(c.OutOrStdout(), o.Findings)
				return errReport
			}
			if err == nil {
				err = publish.Results(c.Context(), s, o, bar.step)
			}
			bar.done()
			if err != nil {
				return err
			}
			out := c.OutOrStdout()
			listTexts(out, o.Data)
			results := filepath.Join(args[0], publish.Folder)
			if o.Faulty() {
				fmt.Fprintf(out, "Nothing was computed: the data have errors. See %s and the marked copies in %s.\n",
					filepath.Join(results, "report.html"), filepath.Join(results, "checked"))
				listFindings(out, o.Findings)
				return errReport
			}
			fmt.Fprintf(out, "%s: %s, %s. Open %s\n", s.Plan.Title.Value,
				printed.Plural(len(o.Results.Analyses), "analysis"), printed.Plural(len(o.Results.Rows), "result row"), filepath.Join(results, "report.html"))
			for _, text := range s.Deviations() {
				fmt.Fprintf(out, "Deviates from the frozen plan: %s\n", harmless.Line(text))
			}
			if len(o.Findings) > 0 {
				listFindings(out, o.Findings)
				return errReport
			}
			return nil
		},
	}
}
