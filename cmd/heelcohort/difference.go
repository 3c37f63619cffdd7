package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"heelcohort/cmd/heelcohort/internal/delivery"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/codebook"
	"heelcohort/dataset"
	"heelcohort/dataset/harmless"
)

func differenceCommand() *cobra.Command {
	var book, out string
	c := &cobra.Command{
		Use:   "difference BEFORE AFTER",
		Short: "List what differs between two deliveries of a study's data",
		Long: wrap(`Compares the tables of two study folders: rows added, removed and changed, by primary key, or by their whole content where a table has none; every changed cell with its place in both; variables added and removed. Cells with the same value in another spelling are told apart as written differently. Texts of variables that may name people are not shown.

Each folder is read by its own codebook, or both by the one that --codebook names, whose paths count from the folders. Only what the codebook declares is compared.

Exit status: 0 nothing differs, 1 something does, 2 could not be compared.`),
		Example: "  heelcohort difference delivery-1 delivery-2\n  heelcohort difference --codebook codebook.yaml --out changes.csv old new",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 2 {
				return fmt.Errorf("found %d arguments, expected two folders", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			var both [2]*dataset.Dataset
			for i, dir := range args {
				d, err := readDelivery(c.Context(), dir, book)
				if err != nil {
					return fmt.Errorf("%s: %w", []string{"before", "after"}[i], err)
				}
				both[i] = d
			}
			r := delivery.Compare(both[0], both[1])
			if out != "" {
				if err := writeDifferences(r, out); err != nil {
					return err
				}
			}
			listDifferences(c.OutOrStdout(), r)
			if r.Differs() {
				return errReport
			}
			return nil
		},
	}
	c.Flags().StringVar(&book, "codebook", "", "codebook of both folders, instead of their own")
	c.Flags().StringVar(&out, "out", "", "write every difference to this new CSV file")
	return c
}

// readDelivery reads and screens the data of a folder.
func readDelivery(ctx context.Context, dir, book string) (*dataset.Dataset, error) {
	pkg, err := deliveryCodebook(dir, book)
	if err != nil {
		return nil, err
	}
	d, findings, err := dataset.Open(ctx, dir, pkg, dataset.Options{})
	if err != nil {
		return nil, err
	}
	_, err = dataset.Screen(ctx, d, findings)
	return d, err
}

// deliveryCodebook reads the codebook of a folder, or the one given for both.
func deliveryCodebook(dir, book string) (pkg *codebook.Package, err error) {
	if book != "" {
		_, pkg, err = readCodebookFile(book)
		return pkg, err
	}
	_, pkg, err = run.Codebook(dir)
	return pkg, err
}

// writeDifferences writes the list to a file that must not be there.
func writeDifferences(r *delivery.Report, name string) error {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if os.IsExist(err) {
		return fmt.Errorf("%s is there already, expected the name of a new file", name)
	}
	if err != nil {
		return err
	}
	if err := r.WriteCSV(f); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}

// listDifferences prints the differences, the first of each table.
func listDifferences(w io.Writer, r *delivery.Report) {
	const shown = 10
	for _, t := range r.Tables {
		if !t.Differs() {
			fmt.Fprintf(w, "%s: no difference in %s.\n", t.Name, printed.Plural(t.After, "row"))
			continue
		}
		by := "paired by " + strings.Join(t.Key, ", ")
		if t.Key == nil {
			by = "compared by whole content, for there is no key"
		}
		count := func(n int) string { return printed.Thousands(strconv.Itoa(n)) }
		fmt.Fprintf(w, "%s: %s before, %s after, %s: %s added, %s removed, %s changed.\n",
			t.Name, printed.Plural(t.Before, "row"), count(t.After), by, count(t.Added), count(t.Removed), count(t.Changed))
		for _, v := range t.Variables {
			fmt.Fprintf(w, "    %s: %s changed", v.Name, printed.Plural(v.Changed, "cell"))
			if v.Written > 0 {
				fmt.Fprintf(w, ", %s written differently", count(v.Written))
			}
			fmt.Fprintln(w)
		}
		for i, c := range t.Changes {
			if i == shown {
				fmt.Fprintf(w, "    … and %d more; --out FILE.csv lists all\n", len(t.Changes)-shown)
				break
			}
			fmt.Fprintf(w, "  %s\n", harmless.Line(describeChange(c)))
		}
	}
}

// describeChange says what differs in one line.
func describeChange(c delivery.Change) string {
	var parts []string
	add := func(s string) {
		if s != "" {
			parts = append(parts, s)
		}
	}
	add(c.Variable)
	add(c.Key)
	before, after := c.Before.String(), c.After.String()
	switch {
	case before == "" || after == "" || before == after:
		if before == "" {
			before = after
		}
		add(before)
	default:
		add(before + " → " + after)
	}
	text := c.Sort + ": " + strings.Join(parts, ", ")
	if c.Sort == delivery.Changed || c.Sort == delivery.Written {
		text += fmt.Sprintf(": %q → %q", c.Old, c.New)
	}
	return text
}
