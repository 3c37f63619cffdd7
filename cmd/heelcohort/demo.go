package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/demo"
)

func demoCommand() *cobra.Command {
	var faulty bool
	var seed uint64
	c := &cobra.Command{
		Use:   "demo DIR",
		Short: "Write the demonstration study to a new folder",
		Long: wrap(`Writes the invented Saltmarsh Youth Sport Heel Registry to DIR, which must not exist or be empty: about 1,200 children in four tables of one workbook, a codebook, a plan, and the true parameters the data were drawn from (truth.json). No child, club or clinic in it exists.

With --faulty the workbook has planted faults, listed in faults.csv; check finds each of them.`),
		Example: "  heelcohort demo mydemo\n  heelcohort demo --faulty myfaults",
		Args:    oneFolder,
		RunE: func(c *cobra.Command, args []string) error {
			dir := args[0]
			if err := emptyFolder(dir); err != nil {
				return err
			}
			if err := demo.Write(c.Context(), dir, demo.WriteOptions{Seed: seed, Faulty: faulty}); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "Wrote the demonstration study to %s. Next: heelcohort %s %s\n", dir, next(faulty), dir)
			return nil
		},
	}
	c.Flags().BoolVar(&faulty, "faulty", false, "plant faults in the data, and list them in faults.csv")
	c.Flags().Uint64Var(&seed, "seed", 0, "seed of the invented data; 0 is the published one")
	return c
}

func next(faulty bool) string {
	if faulty {
		return "check"
	}
	return "run"
}

// emptyFolder makes sure that dir is an empty folder, making it if need be.
func emptyFolder(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return os.MkdirAll(dir, 0o755)
	}
	if err != nil {
		return err
	}
	if len(entries) > 0 {
		return fmt.Errorf("%s is not empty (it has %s), expected a new or empty folder", dir, entries[0].Name())
	}
	return nil
}
