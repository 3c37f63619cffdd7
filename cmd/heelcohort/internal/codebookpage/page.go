package codebookpage

import (
	_ "embed" // the page and its style
	"html/template"
	"io"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/report"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

//go:embed page.css
var pageCSS string

//go:embed page.html
var pageHTML string

var page = template.Must(template.New("page").Funcs(template.FuncMap{"anchor": report.Anchor}).Parse(pageHTML))

// DefaultSmall is the count below which categories are not shown, unless
// another is asked for.
const DefaultSmall = 5

// An Input is what a page is made of.
type Input struct {
	Package  *codebook.Package
	File     string           // the codebook's name
	Data     *dataset.Dataset // nil: a page without distributions
	Findings []dataset.Finding
	Small    int // counts from 1 to below it are hidden; 0 shows all, minimum and maximum too
	Program  string
	Caution  string
}

// A pageView is what the page is filled with.
type pageView struct {
	CSS              template.CSS
	Title            string
	Description      string
	Caution, Program string
	File             string
	Data             bool
	Small            int
	Summary          []fact
	Tables           []tableView
}

// A fact is a name with what is said of it.
type fact struct{ Name, Value string }

// HTML writes the page.
func HTML(w io.Writer, in Input) error {
	p := in.Package
	view := pageView{
		CSS:   template.CSS(report.Style() + pageCSS),
		Title: p.Title, Description: p.Description, Caution: in.Caution, Program: in.Program, File: in.File,
		Data: in.Data != nil, Small: in.Small,
	}
	if view.Title == "" {
		view.Title = p.Name
	}
	if view.Title == "" {
		view.Title = "Codebook " + in.File
	}
	view.Summary = append(view.Summary, fact{"Codebook", in.File})
	if p.Version != "" {
		view.Summary = append(view.Summary, fact{"Version", p.Version})
	}
	variables := 0
	for _, r := range p.Resources {
		variables += len(r.Schema.Fields)
		view.Tables = append(view.Tables, tableOf(in, r))
	}
	view.Summary = append(view.Summary, fact{"Contents", printed.Plural(len(p.Resources), "table") + ", " + printed.Plural(variables, "variable")})
	if in.Data != nil {
		for _, f := range in.Data.Files {
			view.Summary = append(view.Summary, fact{"Data file", f.Path + ", SHA-256 " + f.SHA256[:min(12, len(f.SHA256))] + "…"})
		}
		view.Summary = append(view.Summary, fact{"Findings", findingsText(in.Findings)})
	}
	return page.Execute(w, view)
}

// findingsText counts findings.
func findingsText(findings []dataset.Finding) string {
	errors := 0
	for _, f := range findings {
		if f.Severity == dataset.Error {
			errors++
		}
	}
	if len(findings) == 0 {
		return "none: every cell agrees with the codebook"
	}
	return printed.Plural(errors, "error") + ", " + printed.Plural(len(findings)-errors, "warning") + "; a check lists them"
}

// number writes a count.
func number(n int) string { return printed.Thousands(strconv.Itoa(n)) }
