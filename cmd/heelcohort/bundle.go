package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/run"
)

func bundleCommand() *cobra.Command {
	var out string
	var opts bundle.Options
	c := &cobra.Command{
		Use:   "bundle [DIR]",
		Short: "Write a study with its results into one archive that anyone can rerun",
		Long: wrap(`Writes plan, codebook, data, results and licence of the study in DIR (the current folder unless given) into one zip archive that describes itself: ro-crate-metadata.json is an RO-Crate 1.1 with the SHA-256 of every file and the program that made the results. The same study gives the same bytes.

With --without-data the archive holds no data: names, SHA-256 and numbers of rows of the data files stand in data-withheld.json. Small cells of the results are not suppressed: look at the results before they leave.

No bundle is made, and the exit status is 2, when the data have findings whose rule the plan does not accept; when they may name people; when the plan has no date of publication; when results are missing, altered, or not those of plan, codebook and data as they are now. An existing archive is replaced only once the new one is whole.`),
		Example: "  heelcohort bundle mydemo\n  heelcohort bundle --without-data --out shared.zip mydemo",
		Args:    atMostOneFolder,
		RunE: func(c *cobra.Command, args []string) error {
			dir := "."
			if len(args) == 1 {
				dir = args[0]
			}
			if out == "" {
				out = baseName(dir) + ".zip"
			}
			s, err := run.Read(dir)
			if err != nil {
				return err
			}
			bar := newProgress(c.ErrOrStderr())
			d, findings, err := s.Check(c.Context(), bar.watch())
			bar.done()
			if err != nil {
				return err
			}
			b, err := bundle.Prepare(s, d, findings, opts)
			if refused := (*bundle.Findings)(nil); errors.As(err, &refused) {
				listFindings(c.OutOrStdout(), refused.List)
			}
			if err != nil {
				return err
			}
			sum, err := b.WriteFile(c.Context(), out)
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "Wrote %s, SHA-256 %s. To see whether it holds: heelcohort rerun %s\n", out, sum, out)
			return nil
		},
	}
	c.Flags().StringVar(&out, "out", "", "write to this file, which ends in .zip; NAME.zip in the current folder unless given")
	c.Flags().BoolVar(&opts.WithoutData, "without-data", false, "hold no data, but their SHA-256 and numbers of rows")
	return c
}

// atMostOneFolder is the check of a command whose folder may be left out.
func atMostOneFolder(_ *cobra.Command, args []string) error {
	if len(args) > 1 {
		return fmt.Errorf("found %d arguments, expected at most one folder", len(args))
	}
	return nil
}
