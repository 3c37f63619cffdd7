package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset"
	"heelcohort/dataset/harmless"
)

func checkCommand() *cobra.Command {
	var marked, explain string
	c := &cobra.Command{
		Use:   "check DIR",
		Short: "Check a study's plan, codebook and data, and list every fault",
		Long: wrap(`Checks the plan and the codebook of the study in DIR, reads its data against the codebook and lists what it finds, grouped by rule, the worst first, each with its first cells. For each text file it says in which encoding and with which separators it was read. Nothing in DIR is changed. The data are also screened for what names people or could single one out; cells that do are not shown.

With --explain RULE it says what a rule means and what to do about it; --explain all lists every rule.

With --marked FOLDER it also writes findings.csv and a copy of each workbook in which every finding's cell is filled and carries a comment. Findings show cells of the data: keep them within the study.`),
		Example: "  heelcohort check mydemo\n  heelcohort check --marked mymarks myfaults\n  heelcohort check --explain \"primary key\"",
		Args: func(c *cobra.Command, args []string) error {
			if explain != "" && len(args) == 0 {
				return nil
			}
			return oneFolder(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if explain != "" {
				return explainRule(c.OutOrStdout(), explain)
			}
			s, err := run.Read(args[0])
			if err != nil {
				return err
			}
			if marked != "" {
				if err := emptyFolder(marked); err != nil {
					return err
				}
			}
			bar := newProgress(c.ErrOrStderr())
			d, findings, err := s.Check(c.Context(), bar.watch())
			bar.done()
			if err != nil {
				return err
			}
			if marked != "" {
				if err := writeMarked(c, d, findings, marked); err != nil {
					return err
				}
			}
			rows := 0
			for _, t := range d.Tables {
				rows += t.Len()
			}
			fmt.Fprintf(c.OutOrStdout(), "%s: %d tables, %s read.\n", s.Plan.Title.Value, len(d.Tables), printed.Plural(rows, "row"))
			listTexts(c.OutOrStdout(), d)
			listExceptions(c.OutOrStdout(), d.Exceptions)
			listFindings(c.OutOrStdout(), findings)
			if len(findings) > 0 {
				return errReport
			}
			return nil
		},
	}
	c.Flags().StringVar(&explain, "explain", "", "explain a rule by its name, or all of them, and read nothing")
	c.Flags().StringVar(&marked, "marked", "", "write findings.csv and marked workbooks to this new folder")
	return c
}

func writeMarked(c *cobra.Command, d *dataset.Dataset, findings []dataset.Finding, dir string) error {
	write := func(name string, data []byte) error {
		full := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
			return err
		}
		return os.WriteFile(full, data, 0o644)
	}
	if err := publish.Checked(c.Context(), d, findings, write); err != nil {
		return err
	}
	f, err := os.Create(filepath.Join(dir, "findings.csv"))
	if err != nil {
		return err
	}
	if err := dataset.WriteFindings(f, findings); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}

// listTexts prints how each text file was read.
func listTexts(w io.Writer, d *dataset.Dataset) {
	for _, f := range d.Files {
		if note := f.Note(); note != "" {
			fmt.Fprintln(w, note)
		}
	}
}

// listExceptions prints the columns that the codebook lets through the screen
// for identifiers.
func listExceptions(w io.Writer, exceptions []dataset.Exception) {
	if len(exceptions) == 0 {
		return
	}
	fmt.Fprintln(w, "Exceptions to the identifier screen:")
	for _, e := range exceptions {
		fmt.Fprintf(w, "    %s.%s, %s, %s: %s\n", e.Table, e.Variable, e.Screen, printed.Plural(e.Cells, "cell"), e.Reason)
	}
}

// listFindings prints findings by rule, the worst first.
func listFindings(w io.Writer, findings []dataset.Finding) {
	if len(findings) == 0 {
		fmt.Fprintln(w, "No findings.")
		return
	}
	errors, named := 0, 0
	for _, f := range findings {
		if f.Severity == dataset.Error {
			errors++
		}
		if f.Identifies() {
			named++
		}
	}
	fmt.Fprintf(w, "%s, %s.", printed.Plural(errors, "error"), printed.Plural(len(findings)-errors, "warning"))
	if named > 0 {
		fmt.Fprintf(w, " %d of the errors say that the data name people; no run goes on over them.", named)
	}
	fmt.Fprintln(w)
	rule := ""
	for _, g := range dataset.Group(findings) {
		where := g.Table
		if g.Variable != "" {
			where += "." + g.Variable
		}
		fmt.Fprintf(w, "\n%s: %s, %s, %s\n", g.Severity, g.Rule, where, printed.Plural(g.Count, "place"))
		if text := g.First[0].Explain(); g.Severity.String()+g.Rule != rule {
			fmt.Fprint(w, paragraph(text.Sentence+" "+text.Ask))
			rule = g.Severity.String() + g.Rule
		}
		for _, f := range g.First {
			place := harmless.Line(f.Where.String())
			if place == "" {
				place = "everywhere"
			}
			fmt.Fprintf(w, "    %s: %s\n", place, describeFinding(f))
		}
		if more := g.Count - len(g.First); more > 0 {
			fmt.Fprintf(w, "    … and %d more\n", more)
		}
	}
}

// paragraph breaks a text into lines, four blanks in.
func paragraph(text string) string {
	lines := strings.Split(wrapAt(harmless.Line(text), commandWidth-4), "\n")
	return "    " + strings.Join(lines, "\n    ") + "\n"
}

// describeFinding says what was found and expected, or what the finding says
// where it is about more than the text of one cell.
func describeFinding(f dataset.Finding) string {
	if !f.OfText() && f.Message != "" && f.Message != f.Explain().Sentence {
		return harmless.Line(f.Message)
	}
	text := fmt.Sprintf("found %q", f.Found)
	if f.Found == "" {
		text = "found an empty cell"
	}
	if f.Expected != "" {
		text += ", expected " + f.Expected
	}
	if f.Nearest != "" {
		text += fmt.Sprintf("; did you mean %q?", f.Nearest)
	}
	return text
}
