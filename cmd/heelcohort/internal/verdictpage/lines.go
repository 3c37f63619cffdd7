package verdictpage

import (
	"fmt"
	"io"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/verdict"
	"heelcohort/dataset/harmless"
)

// Lines writes the summary and what is not the same.
func Lines(w io.Writer, in Input) {
	if in.Report != nil {
		comparison(w, in)
	}
	if in.Inner {
		fmt.Fprintf(w, "%s: %s to the table alone.\n", in.Printed, printed.Plural(len(in.Questions), "question"))
		for _, q := range in.Questions {
			fmt.Fprintf(w, "  %s: %q\n    %s\n", harmless.Line(q.Where), q.Text, harmless.Line(q.Ask))
		}
	}
}

func comparison(w io.Writer, in Input) {
	c := in.Counts
	fmt.Fprintf(w, "%s against %s: %s: %d the same at the printed decimals, %d off by rounding alone, %d different",
		harmless.Line(in.Printed), harmless.Line(in.Study), printed.Plural(c.Same+c.Rounding+c.Differs, "number"), c.Same, c.Rounding, c.Differs)
	if c.Differs > 0 {
		fmt.Fprintf(w, ", of which %d explained", c.Explained)
	}
	fmt.Fprintln(w, ".")
	if text := Habit(in.Report); text != "" {
		fmt.Fprintln(w, text)
	}
	if c.LeftOut > 0 {
		fmt.Fprintf(w, "%s said to be no results.\n", printed.Plural(c.LeftOut, "number"))
	}
	if c.Unconfirmed > 0 {
		fmt.Fprintf(w, "%s stand against results that nobody has confirmed to be the ones meant.\n", printed.Plural(c.Unconfirmed, "number"))
	}
	for _, cell := range in.Report.Cells {
		if cell.Verdict() == verdict.Same {
			continue
		}
		fmt.Fprintf(w, "\n%s: %q\n", harmless.Line(cell.Where), cell.Text)
		for _, n := range cell.Numbers {
			if n.Verdict != verdict.Same {
				fmt.Fprintf(w, "    %s %s; in full %s (%s, %s)\n", n.Printed, Say(n), n.Result, harmless.Line(n.Address), n.Part)
			}
		}
		for _, e := range cell.Explanations {
			fmt.Fprintf(w, "    would follow from %s: %s\n", e.Kind, harmless.Line(e.Text))
		}
		if cell.Searched && len(cell.Explanations) == 0 {
			fmt.Fprintln(w, "    no change that was tried gives all its digits")
		}
	}
	if len(in.Report.Open) > 0 {
		fmt.Fprintf(w, "\n%s without an address:\n", printed.Plural(c.Open, "number"))
		const shown = 10
		for i, o := range in.Report.Open {
			if i == shown {
				fmt.Fprintf(w, "    … and %d cells more\n", len(in.Report.Open)-shown)
				break
			}
			fmt.Fprintf(w, "    %s: %q\n", harmless.Line(o.Where), o.Text)
		}
	}
}

// Habit says where numbers whose digits were cut off stand beside others that
// were rounded up: then cutting off is no habit of the table, and such a number
// may as well be a slip.
func Habit(r *verdict.Report) string {
	if r == nil || r.CutOff() == 0 || r.Rounded == 0 {
		return ""
	}
	return fmt.Sprintf("Digits are cut off in %s, and %d others are rounded up: look at those that are cut off.", printed.Plural(r.CutOff(), "number"), r.Rounded)
}
