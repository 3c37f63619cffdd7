package rerun

import (
	"bytes"
	_ "embed" // the page
	"fmt"
	"html/template"
	"io"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/report"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset/harmless"
)

//go:embed page.html
var pageHTML string

var page = template.Must(template.New("page").Funcs(template.FuncMap{"short": short}).Parse(pageHTML))

// short is the beginning of a digest.
func short(sum string) string {
	if len(sum) > 12 {
		return sum[:12] + "…"
	}
	return sum
}

// A pageView is what the page is filled with.
type pageView struct {
	*Report
	CSS      template.CSS
	Sentence string
	Summary  []fact
	Rows     []rowView
}

type fact struct{ Name, Value string }

type rowView struct{ ID, Verdict, Numbers, Causes string }

// HTML writes the page, which needs no network and no script.
func (r *Report) HTML(w io.Writer) error {
	view := pageView{Report: r, CSS: template.CSS(report.Style()), Sentence: r.Sentence(), Summary: []fact{
		{"Bundle or folder", r.Source},
		{"Results made by", r.Recorded},
		{"Computed now by", r.Program},
		{"Files", r.FileSentence()},
		{"Tolerance, relative", strconv.FormatFloat(r.Tolerance, 'g', -1, 64)},
	}}
	if r.Stopped == "" {
		view.Summary = append(view.Summary, fact{"Files of the results with the same bytes", fmt.Sprintf("%d of %d", r.Outputs.Same, r.Outputs.Same+len(r.Outputs.Different))})
	}
	kinds := map[string]string{}
	for _, c := range r.Changes {
		kinds[c.Label] = c.Kind + " (" + c.Label + ")"
	}
	for _, row := range r.Rows {
		var causes []string
		for _, c := range row.Causes {
			causes = append(causes, kinds[c])
		}
		view.Rows = append(view.Rows, rowView{row.ID, row.Verdict, row.Text(), strings.Join(causes, ", ")})
	}
	var b bytes.Buffer
	if err := page.Execute(&b, view); err != nil {
		return err
	}
	_, err := w.Write(harmless.Page(b.Bytes()))
	return err
}

// Sentence counts the rows by verdict.
func (r *Report) Sentence() string {
	c := r.Counts
	number := func(n int) string { return printed.Thousands(strconv.Itoa(n)) }
	return fmt.Sprintf("%s the same, %s within a relative tolerance of %s, %s moved, %s gone, %s new",
		printed.Plural(c.Same, "row"), number(c.Within), strconv.FormatFloat(r.Tolerance, 'g', -1, 64), number(c.Moved), number(c.Gone), number(c.New))
}

// FileSentence counts the files by state.
func (r *Report) FileSentence() string {
	text := fmt.Sprintf("%d intact, %d altered, %d missing, %d additional",
		r.Count(bundle.Intact), r.Count(bundle.Altered), r.Count(bundle.Missing), r.Count(bundle.Additional))
	if n := r.Count(bundle.WithheldData); n > 0 {
		text += fmt.Sprintf(", %d withheld", n)
	}
	return text
}

// Text is the numbers of a row that differ, in a line.
func (row Row) Text() string {
	var parts []string
	for _, n := range row.Numbers {
		parts = append(parts, fmt.Sprintf("%s %s → %s", n.Name, digits(n.Before), digits(n.After)))
	}
	return strings.Join(parts, "; ")
}

func digits(n result.Number) string {
	if !n.Present() {
		return "none"
	}
	return n.String()
}
