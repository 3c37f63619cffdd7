package dataset

import (
	"encoding/csv"
	"io"
)

// findingHeader is the head of the file that WriteFindings writes.
var findingHeader = []string{
	"rule", "severity", "file", "sheet", "cell", "table", "variable", "found", "expected", "nearest", "message",
}

// WriteFindings writes findings as CSV, one a line, below a head line. The
// found text is written exactly as it was read, even where it begins with a
// sign that a spreadsheet program would take for a formula; open the file as
// text, or use the marked workbook, in which every text is a text.
func WriteFindings(w io.Writer, findings []Finding) error {
	out := csv.NewWriter(w)
	if err := out.Write(findingHeader); err != nil {
		return err
	}
	for _, f := range findings {
		err := out.Write([]string{
			f.Rule, f.Severity.String(), f.Where.File, f.Where.Sheet, f.Where.Cell(), f.Table, f.Variable,
			f.Found, f.Expected, f.Nearest, f.Message,
		})
		if err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
