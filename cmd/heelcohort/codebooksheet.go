package main

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/codebookfile"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

func codebookSheetCommand() *cobra.Command {
	var replace bool
	c := &cobra.Command{
		Use:   "sheet CODEBOOK [OUT]",
		Short: "Turn a codebook into a workbook, or such a workbook into a codebook",
		Long: wrap(`Turns a codebook in YAML or JSON into a workbook (.xlsx) with a sheet each for the study, its tables, variables, categories, missing codes, keys and rules, and a workbook of that shape into YAML or JSON. The endings of the names say which way. Without OUT the result stands beside CODEBOOK: codebook.yaml gives codebook.xlsx, codebook.xlsx gives codebook.yaml.

Nothing is lost either way: every property comes back as it was, known to this program or not. Comments and the layout of a YAML file are not kept. The first sheet of the workbook explains all others. A codebook with faults is refused with the line, or the sheet and cell, of each.

A study can use the workbook itself: codebook: codebook.xlsx in study.yaml.`),
		Example: "  heelcohort codebook sheet mydemo/codebook.yaml\n  heelcohort codebook sheet mydemo/codebook.xlsx edited.yaml",
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) < 1 || len(args) > 2 {
				return fmt.Errorf("found %d arguments, expected a codebook and, if you like, the file to write", len(args))
			}
			out, err := sheetOut(args)
			if err != nil {
				return err
			}
			file := outFile{path: out, replace: replace}
			if err := file.check(); err != nil {
				return err
			}
			root, p, err := readCodebookFile(args[0])
			if err != nil {
				return err
			}
			data, err := codebookfile.Encode(out, root)
			if err != nil {
				return err
			}
			if err := file.write(c, data); err != nil {
				return err
			}
			variables := 0
			for _, r := range p.Resources {
				variables += len(r.Schema.Fields)
			}
			fmt.Fprintf(c.OutOrStdout(), "Wrote %s: %s, %s.\n", out, printed.Plural(len(p.Resources), "table"), printed.Plural(variables, "variable"))
			if e := strings.ToLower(filepath.Ext(args[0])); e == ".yaml" || e == ".yml" {
				fmt.Fprintf(c.OutOrStdout(), "Every property of %s is in it; comments (#) are not.\n", filepath.Base(args[0]))
			}
			return nil
		},
	}
	c.Flags().BoolVar(&replace, "replace", false, "replace OUT if it exists")
	return c
}

// sheetOut checks the two names' endings and makes the second where it is left
// out.
func sheetOut(args []string) (string, error) {
	for _, name := range args {
		if !codebookfile.Known(name) {
			nearest := ""
			if n := document.Nearest(filepath.Ext(name), []string{".yaml", ".json", ".xlsx"}); n != "" {
				nearest = fmt.Sprintf("; did you mean %q?", n)
			}
			return "", fmt.Errorf("%s: file ending %q, expected .yaml, .yml, .json or .xlsx%s", name, filepath.Ext(name), nearest)
		}
	}
	book := codebookfile.IsWorkbook(args[0])
	if len(args) == 1 {
		ending := ".xlsx"
		if book {
			ending = ".yaml"
		}
		return strings.TrimSuffix(args[0], filepath.Ext(args[0])) + ending, nil
	}
	if codebookfile.IsWorkbook(args[1]) == book {
		want := ".xlsx"
		if book {
			want = ".yaml or .json"
		}
		return "", fmt.Errorf("%s: file ending %q, expected %s", args[1], filepath.Ext(args[1]), want)
	}
	return args[1], nil
}

// readCodebookFile reads a codebook in any form and checks it.
func readCodebookFile(name string) (*document.Node, *codebook.Package, error) {
	data, err := run.ReadText(filepath.Dir(name), filepath.Base(name))
	if err != nil {
		if errors.Is(err, fs.ErrNotExist) {
			nearest := document.NearestFile(filepath.Dir(name), filepath.Base(name))
			if nearest != "" {
				nearest = fmt.Sprintf("; did you mean %q?", filepath.Join(filepath.Dir(name), nearest))
			}
			return nil, nil, fmt.Errorf("%s does not exist%s", name, nearest)
		}
		return nil, nil, err
	}
	root, err := codebookfile.Document(name, data)
	if err != nil {
		return nil, nil, err
	}
	p, err := codebookfile.Decode(name, data)
	return root, p, err
}
