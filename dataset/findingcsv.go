package dataset

import (
	"io"

	"heelcohort/dataset/harmless"
)

// findingHeader is the head of the file that WriteFindings writes.
var findingHeader = []string{
	"rule", "severity", "file", "sheet", "cell", "table", "variable", "found", "expected", "nearest", "message", "meaning",
}

// WriteFindings writes findings as CSV, one a line, below a head line; meaning
// is the sentence of the finding's rule. A text that a spreadsheet program would
// take for a formula has an apostrophe before it, and control characters are
// visible (see package harmless).
func WriteFindings(w io.Writer, findings []Finding) error {
	return harmless.WriteCSV(w, func(yield func([]string) bool) {
		if !yield(findingHeader) {
			return
		}
		for _, f := range findings {
			if !yield([]string{
				f.Rule, f.Severity.String(), f.Where.File, f.Where.Sheet, f.Where.Cell(), f.Table, f.Variable,
				f.Found, f.Expected, f.Nearest, f.Message, f.Explain().Sentence,
			}) {
				return
			}
		}
	})
}
