package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/frozen"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/run"
)

func freezeCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "freeze [DIR]",
		Short: "Keep a study's plan as it is before the data are seen",
		Long: wrap(`Checks plan and codebook of the study in DIR (this folder unless named) and writes DIR/plan.frozen: the plan's SHA-256 and the plan itself. A frozen plan is never replaced, and none is written where results are there already.

From then on run says in the report in which lines the plan deviates, and labels analyses that were added as exploratory. The file bears no date: deposit the SHA-256, which is printed, where dates are kept.`),
		Example: "  heelcohort freeze mydemo",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fmt.Errorf("found %d arguments, expected one folder or none", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			dir := "."
			if len(args) > 0 {
				dir = args[0]
			}
			path := filepath.Join(dir, frozen.File)
			if _, err := os.Lstat(path); err == nil {
				return fmt.Errorf("%s is there already and was left as it is: a plan is frozen once", path)
			}
			if _, err := run.Read(dir); err != nil {
				return err
			}
			results := filepath.Join(dir, publish.Folder)
			if _, err := os.Lstat(results); !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("%s is there, so data were seen; expected a plan to be frozen before its first run", results)
			}
			plan, err := run.ReadText(dir, run.PlanFile)
			if err != nil {
				return err
			}
			out := outFile{path: path}
			if err := out.write(c, frozen.Write(plan)); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: %s with the SHA-256 %s\n", path, run.PlanFile, frozen.Digest(plan))
			return nil
		},
	}
}
