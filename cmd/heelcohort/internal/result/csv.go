package result

import (
	"io"
	"strconv"
	"strings"

	"heelcohort/dataset/harmless"
)

// WriteCSV writes rows, usually those of one analysis, in long form below a
// head line: one row a line, every number with the fewest digits that read
// back as the same number, "unbounded" and "unbounded below" for infinite
// ones, nothing for absent ones. There are as many pairs of group columns as
// the row with the most groups needs. Warnings are joined by "; ".
//
// A text that a spreadsheet program would take for a formula has an apostrophe
// before it; numbers stay numbers (see package harmless).
func WriteCSV(w io.Writer, rows []Row) error {
	groups := 0
	for _, r := range rows {
		groups = max(groups, len(r.Groups))
	}
	return harmless.WriteCSV(w, func(yield func([]string) bool) {
		if !yield(csvHeader(groups)) {
			return
		}
		for _, r := range rows {
			if !yield(r.csvRecord(groups)) {
				return
			}
		}
	})
}

// csvHeader is the head line for rows of at most the given number of groups.
func csvHeader(groups int) []string {
	header := []string{"id", "analysis", "part"}
	for i := range groups {
		n := strconv.Itoa(i + 1)
		header = append(header, "group_"+n+"_variable", "group_"+n+"_level")
	}
	return append(
		header, "variable", "term", "measure", "at", "estimate", "lower", "upper", "se", "level", "p", "statistic", "df",
		"n", "events", "censored", "person_time", "unit", "method", "reason", "warnings", "line",
	)
}

// csvRecord is the row as one record.
func (r *Row) csvRecord(groups int) []string {
	id := r.ID
	if id == "" {
		id = r.Address()
	}
	record := []string{id, r.Analysis, r.Part}
	for i := range groups {
		var g Group
		if i < len(r.Groups) {
			g = r.Groups[i]
		}
		record = append(record, g.Variable, g.Level)
	}
	record = append(record, r.Variable, r.Term, r.Measure)
	for _, n := range []Number{
		r.At, r.Estimate, r.Lower, r.Upper, r.SE, r.Level, r.P, r.Statistic, r.DF, r.N, r.Events, r.Censored, r.PersonTime,
	} {
		record = append(record, n.String())
	}
	return append(record, r.Unit, r.Method, r.Reason, strings.Join(r.Warnings, "; "), strconv.Itoa(r.Line))
}
