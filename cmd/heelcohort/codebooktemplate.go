package main

import (
	"bytes"
	"fmt"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/codebookfile"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/dataset"
)

func codebookTemplateCommand() *cobra.Command {
	var replace bool
	var rows int
	c := &cobra.Command{
		Use:   "template CODEBOOK OUT.xlsx",
		Short: "Write an empty workbook for entering the data of a codebook",
		Long: wrap(`Writes a workbook with a sheet for each table of CODEBOOK (.yaml, .json or .xlsx): the variables' names stand in the header row, and the cells below take what the codebook allows, from lists where there are categories, with a message where something else is typed. Missing codes are taken too. The first sheet explains every variable.

Patterns, and conditions on several variables, are checked after entry by heelcohort check.`),
		Example: "  heelcohort codebook template mydemo/codebook.yaml entry.xlsx",
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) != 2 {
				return fmt.Errorf("found %d arguments, expected a codebook and the workbook to write", len(args))
			}
			if !codebookfile.IsWorkbook(args[1]) {
				return fmt.Errorf("%s: expected a file that ends in .xlsx", args[1])
			}
			if rows < 1 || rows > 1_000_000 {
				return fmt.Errorf("--rows %d, expected 1 to 1000000", rows)
			}
			file := outFile{path: args[1], replace: replace}
			if err := file.check(); err != nil {
				return err
			}
			_, p, err := readCodebookFile(args[0])
			if err != nil {
				return err
			}
			var data bytes.Buffer
			notes, err := dataset.WriteTemplate(&data, p, dataset.TemplateOptions{Rows: rows})
			if err != nil {
				return err
			}
			if err := file.write(c, data.Bytes()); err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "Wrote %s: %s, %s each to fill.\n", args[1], printed.Plural(len(p.Resources), "table"), printed.Plural(rows, "row"))
			for _, n := range notes {
				fmt.Fprintln(c.OutOrStdout(), n)
			}
			return nil
		},
	}
	c.Flags().BoolVar(&replace, "replace", false, "replace OUT.xlsx if it exists")
	c.Flags().IntVar(&rows, "rows", dataset.DefaultTemplateRows, "rows of each table that are prepared")
	return c
}
