// Package report turns result rows into things people read: report.html,
// tables.xlsx, methods.md.
package report

import (
	"io"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
)

// Input is what a report is made of.
type Input struct {
	Results  *result.Results
	Findings []dataset.Finding
	Figures  map[string][]byte // SVG by figure id
}

// HTML writes the self-contained page.
func HTML(w io.Writer, in Input) error { return nil }

// Workbook writes tables.xlsx, a sheet a table.
func Workbook(w io.Writer, in Input) error { return nil }

// Methods writes methods.md.
func Methods(w io.Writer, in Input) error { return nil }
