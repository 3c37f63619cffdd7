package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/codebook/document"
	"heelcohort/dataset/harmless"
)

// version of the program.
const version = "0.1.0"

const program = "heelcohort " + version

// Exit statuses.
const (
	exitDone     = 0 // done, nothing to report
	exitReport   = 1 // done, and there is something to report
	exitNotDone  = 2 // could not be done; results are as they were
	commandWidth = 78
)

// errReport is returned by a command that did its work and has something to
// report.
var errReport = errors.New("something to report")

const about = `heelcohort analyses a study folder:

  study.yaml      the analysis plan: who is analysed, what is derived, which
                  tables and figures are made
  codebook.yaml   the codebook: every table, variable, range, category and
                  missing-value code
  data/           the de-identified spreadsheets (xlsx, csv, tsv), never changed

To begin, make the demonstration study and run it:

  heelcohort demo mydemo
  heelcohort run mydemo

then open mydemo/results/report.html.

Exit status: 0 done; 1 done, and there is something to report; 2 could not be
done, and results are as they were.

` + run.Caution

// command runs the program with the given arguments and returns its exit
// status.
func command(ctx context.Context, args []string, stdout, stderr io.Writer) int {
	root := &cobra.Command{
		Use:           "heelcohort",
		Short:         "Check and analyse a study of paediatric heel apophysitis",
		Long:          wrap(about),
		Version:       version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetVersionTemplate("heelcohort {{.Version}}\n")
	root.AddCommand(demoCommand(), checkCommand(), freezeCommand(), runCommand(), bundleCommand(), rerunCommand(), compareCommand(), codebookCommand(), differenceCommand(), schemaCommand())
	// Whatever is printed may hold texts of the study's files.
	stdout, stderr = harmless.NewTerminal(stdout), harmless.NewTerminal(stderr)
	root.SetArgs(args)
	root.SetOut(stdout)
	root.SetErr(stderr)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errReport):
		return exitReport
	case ctx.Err() != nil && errors.Is(err, ctx.Err()):
		fmt.Fprintln(stderr, "heelcohort: interrupted; results are as they were")
	default:
		printError(stderr, err)
	}
	return exitNotDone
}

// printError prints an error, faults of a document with the line they are on.
func printError(w io.Writer, err error) {
	var fault *document.Error
	if !errors.As(err, &fault) {
		fmt.Fprintf(w, "heelcohort: %v\n", err)
		return
	}
	for _, f := range document.Faults(err) {
		fmt.Fprintf(w, "heelcohort: %v\n", f)
		if f.Excerpt != "" {
			fmt.Fprintln(w, strings.TrimRight(f.Excerpt, "\n"))
		}
	}
}

// wrap breaks the long paragraphs of a help text.
func wrap(text string) string { return wrapAt(text, commandWidth) }

// wrapAt breaks the long paragraphs of a text at a width.
func wrapAt(text string, width int) string {
	var out []string
	for _, line := range strings.Split(text, "\n") {
		for len(line) > width && !strings.HasPrefix(line, " ") {
			at := strings.LastIndexByte(line[:width+1], ' ')
			if at <= 0 {
				break
			}
			out, line = append(out, line[:at]), line[at+1:]
		}
		out = append(out, line)
	}
	return strings.Join(out, "\n")
}

// oneFolder is the check of a command's only argument.
func oneFolder(_ *cobra.Command, args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("found %d arguments, expected one folder", len(args))
	}
	return nil
}
