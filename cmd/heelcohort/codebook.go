package main

import "github.com/spf13/cobra"

// codebookCommand is the parent of the commands about codebooks.
func codebookCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "codebook",
		Short:   "Draft a codebook, or turn one into other forms",
		Long:    wrap("Commands for people who write codebooks: a draft from data files that have none, the codebook as a spreadsheet and back, a blank workbook for entering data, and a page for people. A codebook is a file of its own; no study folder is needed."),
		Example: "  heelcohort codebook draft mystudy/data/registry.xlsx --out mystudy/codebook.yaml\n  heelcohort codebook page mystudy --out codebook.html",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(codebookDraftCommand(), codebookSheetCommand(), codebookTemplateCommand(), codebookPageCommand())
	return c
}
