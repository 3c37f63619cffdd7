package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/printedtable"
	"heelcohort/cmd/heelcohort/internal/proposal"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/cmd/heelcohort/internal/verdict"
	"heelcohort/cmd/heelcohort/internal/verdictpage"
	"heelcohort/codebook/document"
)

// A comparing holds the choices of the command.
type comparing struct {
	printed, addresses, propose, decimal string
	inner                                bool
	whole                                []string
	json, html                           outFile
}

func compareCommand() *cobra.Command {
	var o comparing
	var replace bool
	c := &cobra.Command{
		Use:   "compare [DIR] --printed FILE",
		Short: "Hold the numbers of a printed table against a study's results",
		Long: wrap(`Reads a printed table (csv or xlsx, cells as the text that was printed) and holds each of its numbers against the results in DIR/results: the same at the printed decimals, off by rounding alone, or different. For what differs it looks for a change of the result that gives every digit of the cell: another denominator, level, method of limits, unit, reference and the like.

Which number is which result stands in the addressing file of --map: a CSV file with the columns sheet, row, column, number (which of the cell), printed, address, part (value, lower, upper, se, p, statistic, df, n, events, censored, person_time, level, or none for what is no result), times (a factor such as 100) and confirmed. With --propose FILE such a file is written instead, guessed from labels and values, for you to read, correct and confirm with yes. Without --map labels alone are followed, and nothing counts as confirmed.

With --inner, or without DIR, the table is held against itself: counts against percentages, limits and P against estimates, totals, means that whole numbers cannot have. What does not follow is put as a question.

Exit status: 0 every number is addressed and the same, or off by rounding alone, and there is no question; 1 something is not; 2 could not be compared.`),
		Example: "  heelcohort compare mydemo --printed table2.csv --propose table2-map.csv\n  heelcohort compare mydemo --printed table2.csv --map table2-map.csv --html table2.html\n  heelcohort compare --printed table2.xlsx",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return fmt.Errorf("found %d arguments, expected one folder or none", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			o.json.replace, o.html.replace = replace && o.json.path != "", replace && o.html.path != ""
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return o.run(c, dir)
		},
	}
	f := c.Flags()
	f.StringVar(&o.printed, "printed", "", "the printed table, csv or xlsx")
	f.StringVar(&o.addresses, "map", "", "the addressing file")
	f.StringVar(&o.propose, "propose", "", "write an addressing file to this new file, for you to confirm")
	f.StringVar(&o.decimal, "decimal", "", "mark before decimals, point or comma, where the table does not tell")
	f.BoolVar(&o.inner, "inner", false, "also hold the table against itself")
	f.StringArrayVar(&o.whole, "whole", nil, "label of rows whose data are whole numbers, such as a score (may be given again)")
	f.StringVar(&o.json.path, "json", "", "write everything to this new file as JSON")
	f.StringVar(&o.html.path, "html", "", "write a page to this new file")
	f.BoolVar(&replace, "replace", false, "replace the files of --json and --html if they exist")
	return c
}

func (o *comparing) run(c *cobra.Command, dir string) error {
	if err := o.check(dir); err != nil {
		return err
	}
	table, err := printedtable.Read(c.Context(), o.printed, printedtable.Style(o.decimal))
	if err != nil {
		return err
	}
	in := verdictpage.Input{
		Program: program, Caution: run.Caution, Printed: table.Name, SHA256: table.SHA256, Inner: o.inner || dir == "", Questions: []verdict.Question{},
	}
	if dir != "" {
		res, err := readComputed(dir)
		if err != nil {
			return err
		}
		if o.propose != "" {
			return o.writeProposal(c, table, res)
		}
		in.Study = res.Title
		list, err := o.addressesOf(c.Context(), table, res)
		if err != nil {
			return err
		}
		if o.addresses != "" {
			in.Addresses = filepath.Base(o.addresses)
		}
		if in.Report, err = verdict.Compare(table, list, res); err != nil {
			return err
		}
		if in.Report, err = withTies(c.Context(), dir, table, list, res, in.Report); err != nil {
			return err
		}
		in.Counts = verdictpage.CountsOf(in.Report)
	}
	if in.Inner {
		in.Questions = verdict.Inner(table, o.whole)
	}
	for _, out := range []struct {
		file  *outFile
		write func(*bytes.Buffer) error
	}{
		{&o.json, func(b *bytes.Buffer) error { return verdictpage.JSON(b, in) }},
		{&o.html, func(b *bytes.Buffer) error { return verdictpage.HTML(b, in) }},
	} {
		if out.file.path == "" {
			continue
		}
		var b bytes.Buffer
		if err := out.write(&b); err != nil {
			return err
		}
		if err := out.file.write(c, b.Bytes()); err != nil {
			return err
		}
	}
	verdictpage.Lines(c.OutOrStdout(), in)
	if in.Report != nil && !in.Report.Clean() || len(in.Questions) > 0 {
		return errReport
	}
	return nil
}

// check refuses choices that do not go together before anything is read.
func (o *comparing) check(dir string) error {
	switch {
	case o.printed == "":
		return errors.New("found no --printed, expected the file of a printed table")
	case dir == "" && (o.addresses != "" || o.propose != ""):
		return errors.New("found --map or --propose without a folder, expected the study whose results are meant")
	case o.addresses != "" && o.propose != "":
		return errors.New("found --map and --propose, expected one of them")
	case o.propose != "" && (o.json.path != "" || o.html.path != "" || o.inner):
		return errors.New("found --propose with --json, --html or --inner, expected it alone: nothing is compared")
	case o.decimal != "" && o.decimal != string(printedtable.Point) && o.decimal != string(printedtable.Comma):
		text := fmt.Sprintf("--decimal: found %q, expected %s", o.decimal, strings.Join(printedtable.Styles, " or "))
		if near := document.Nearest(o.decimal, printedtable.Styles); near != "" {
			text += fmt.Sprintf("; did you mean %q?", near)
		}
		return errors.New(text)
	case o.json.path != "" && o.json.path == o.html.path:
		return fmt.Errorf("--json and --html name one file, %s; expected two", o.json.path)
	}
	return errors.Join(o.json.check(), o.html.check())
}

// addressesOf reads the addressing file, or follows the labels.
func (o *comparing) addressesOf(ctx context.Context, table *printedtable.File, res *result.Results) ([]printedtable.Address, error) {
	if o.addresses != "" {
		return printedtable.ReadAddresses(ctx, o.addresses)
	}
	return proposal.Propose(table, res, false), nil
}

// writeProposal writes an addressing file.
func (o *comparing) writeProposal(c *cobra.Command, table *printedtable.File, res *result.Results) error {
	list := proposal.Propose(table, res, true)
	out := outFile{path: o.propose}
	if err := out.check(); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := printedtable.WriteAddresses(&b, list); err != nil {
		return err
	}
	if err := out.write(c, b.Bytes()); err != nil {
		return err
	}
	because := map[string]int{}
	for _, a := range list {
		because[a.Because]++
	}
	fmt.Fprintf(c.OutOrStdout(), "%s: %s: %d proposed by labels and values, %d by labels alone, %d by values alone, %d left open. Read each line of %s, correct it, and write yes in its column confirmed.\n",
		table.Name, printed.Plural(len(list), "number"), because["labels and values"], because["labels alone"], because["values alone"], because[""], o.propose)
	return nil
}

// withTies compares again with Cox models by other handlings of ties, where a
// number of such a model differs.
func withTies(ctx context.Context, dir string, table *printedtable.File, list []printedtable.Address, res *result.Results, first *verdict.Report) (*verdict.Report, error) {
	cox := map[string]bool{}
	for _, r := range res.Rows {
		if a, ok := res.Analysis(r.Analysis); ok && a.Kind == "time-to-event" && strings.HasPrefix(r.Part, "model") {
			cox[r.ID] = true
		}
	}
	differs := slices.ContainsFunc(first.Cells, func(c verdict.Cell) bool {
		return slices.ContainsFunc(c.Numbers, func(n verdict.Number) bool { return n.Verdict == verdict.Differs && cox[n.Address] })
	})
	if !differs {
		return first, nil
	}
	other, err := run.OtherTies(ctx, dir)
	if err != nil {
		return nil, err
	}
	var variants []verdict.Variant
	for _, o := range other {
		variants = append(variants, verdict.Variant{Kind: verdict.KindTies, Text: "the " + o.Ties + " handling of ties", Results: o.Results})
	}
	return verdict.Compare(table, list, res, variants...)
}
