package main

import "github.com/spf13/cobra"

// codebookCommand is the parent of the commands about codebooks.
func codebookCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "codebook",
		Short:   "Draft a codebook, or write one as a page",
		Long:    wrap("Work with a codebook: draft one from data files that have none, or write one as a page for people."),
		Example: "  heelcohort codebook draft mystudy/data/registry.xlsx --out mystudy/codebook.yaml\n  heelcohort codebook page mystudy --out codebook.html",
		Args:    cobra.NoArgs,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(codebookDraftCommand(), codebookPageCommand())
	return c
}
