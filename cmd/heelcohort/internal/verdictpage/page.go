package verdictpage

import (
	"bytes"
	_ "embed" // the page
	"encoding/json"
	"html/template"
	"io"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/report"
	"heelcohort/cmd/heelcohort/internal/verdict"
	"heelcohort/dataset/harmless"
)

//go:embed page.html
var pageHTML string

// An Input is what is shown.
type Input struct {
	Program   string             `json:"program"`
	Caution   string             `json:"caution"`
	Study     string             `json:"study"`     // title of the results; "" without
	Printed   string             `json:"printed"`   // name of the printed file
	SHA256    string             `json:"sha256"`    // of the printed file
	Addresses string             `json:"addresses"` // name of the addressing file; "" where labels were followed
	Counts    Counts             `json:"counts"`
	Report    *verdict.Report    `json:"comparison"` // null without data
	Inner     bool               `json:"inner"`      // the table was held against itself
	Questions []verdict.Question `json:"questions"`
}

// Counts are numbers by verdict.
type Counts struct {
	Same        int `json:"same"`
	Rounding    int `json:"rounding"`
	Differs     int `json:"differs"`
	Explained   int `json:"explained"`   // of those that differ, in cells with an explanation
	Open        int `json:"open"`        // without an address
	LeftOut     int `json:"left_out"`    // said to be no results
	Unconfirmed int `json:"unconfirmed"` // addresses
}

// CountsOf counts a report.
func CountsOf(r *verdict.Report) (c Counts) {
	if r == nil {
		return c
	}
	c = Counts{
		Same: r.Count(verdict.Same), Rounding: r.Count(verdict.Rounding), Differs: r.Count(verdict.Differs),
		LeftOut: r.LeftOut, Unconfirmed: r.Unconfirmed,
	}
	for _, o := range r.Open {
		c.Open += o.Numbers
	}
	for _, cell := range r.Cells {
		if len(cell.Explanations) == 0 {
			continue
		}
		for _, n := range cell.Numbers {
			if n.Verdict == verdict.Differs {
				c.Explained++
			}
		}
	}
	return c
}

// JSON writes everything.
func JSON(w io.Writer, in Input) error {
	text, err := json.MarshalIndent(in, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(harmless.JSON(text), '\n'))
	return err
}

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"count": func(n int) string { return printed.Thousands(strconv.Itoa(n)) },
	"say":   Say,
	"habit": Habit,
	"bad":   func(n verdict.Number) bool { return n.Verdict == verdict.Differs },
}).Parse(pageHTML))

// HTML writes the page.
func HTML(w io.Writer, in Input) error {
	var b bytes.Buffer
	if err := page.Execute(&b, struct {
		Input
		CSS template.CSS
	}{in, template.CSS(report.Style())}); err != nil {
		return err
	}
	_, err := w.Write(harmless.Page(b.Bytes()))
	return err
}

// Say is a verdict in words.
func Say(n verdict.Number) string {
	switch n.Verdict {
	case verdict.Same:
		return "same"
	case verdict.Rounding:
		return "differs by rounding alone: " + n.Rounding
	}
	if n.Reprinted == "" {
		return "differs"
	}
	return "differs: the result is printed " + n.Reprinted
}
