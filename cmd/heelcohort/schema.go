package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// schemas lists the published JSON Schemas.
var schemas = []struct {
	name string
	text func() ([]byte, error)
}{
	{"plan", func() ([]byte, error) { return indented(plan.JSONSchema()) }},
	{"codebook", func() ([]byte, error) { return indented(codebook.JSONSchema()) }},
	{"results", func() ([]byte, error) { return result.Schema(), nil }},
}

func schemaCommand() *cobra.Command {
	var names []string
	for _, s := range schemas {
		names = append(names, s.name)
	}
	return &cobra.Command{
		Use:       "schema " + strings.Join(names, "|"),
		Short:     "Print the JSON Schema of a plan, a codebook or results",
		Long:      "Prints the JSON Schema (2020-12) of study.yaml, of codebook.yaml or of results.json.\nEditors that know it complete keys and mark faults while you write.",
		Example:   "  heelcohort schema plan > study.schema.json",
		ValidArgs: names,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("found %d arguments, expected one of %s", len(args), strings.Join(names, ", "))
			}
			for _, s := range schemas {
				if s.name != args[0] {
					continue
				}
				text, err := s.text()
				if err != nil {
					return err
				}
				_, err = c.OutOrStdout().Write(text)
				return err
			}
			nearest := ""
			if n := document.Nearest(args[0], names); n != "" {
				nearest = fmt.Sprintf("; did you mean %q?", n)
			}
			return fmt.Errorf("no schema %q, expected one of %s%s", args[0], strings.Join(names, ", "), nearest)
		},
	}
}

func indented(v any) ([]byte, error) {
	text, err := json.MarshalIndent(v, "", "  ")
	return append(text, '\n'), err
}
