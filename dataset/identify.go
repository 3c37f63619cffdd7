package dataset

import (
	"fmt"
	"slices"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// undeclared gives a finding for every titled column that the codebook does
// not know. Such a column is not read; it is an error all the same, because a
// column nobody declared is where a name or a date of birth comes along.
func undeclared(where Origin, h *heading, titles []string, r *codebook.Resource) []Finding {
	var names []string
	for _, f := range r.Schema.Fields {
		names = append(names, f.Headings()...)
	}
	var found []Finding
	for i, title := range titles {
		if h.known[i] || title == "" {
			continue
		}
		where.Row, where.Column = h.row, i+1
		f := Finding{
			Rule: RuleUnknownColumn, Table: r.Name, Where: where, Found: title,
			Expected: "a variable of the codebook", Nearest: document.Nearest(title, names),
			Message: fmt.Sprintf("column %q is not in the codebook and was not read", title),
		}
		if slices.Contains(names, title) { // another column of this title is one
			f.Nearest = ""
			f.Message = fmt.Sprintf("column %s is named %q too, and no variable's heelcohort.column is %s; it was not read", columnLetters(i+1), title, columnLetters(i+1))
		}
		found = append(found, f)
	}
	return found
}

// untitled is the finding for a column that holds values below an empty
// title.
func untitled(where Origin, h *heading, r *codebook.Resource, column, firstRow int) Finding {
	where.Row, where.Column = h.row, column
	return Finding{
		Rule: RuleUnknownColumn, Table: r.Name, Where: where,
		Expected: "a variable of the codebook",
		Message:  fmt.Sprintf("column %d has no name but holds values, the first in row %d; it was not read", column, firstRow),
	}
}
