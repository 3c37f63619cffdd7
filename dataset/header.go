package dataset

import (
	"fmt"
	"strconv"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// A heading says which column of the file holds which field.
type heading struct {
	row     int
	columns []int  // for each field of the schema, its column from 0
	titled  []bool // for each column of the file, whether it has a title
	known   []bool // for each column of the file, whether a field is there
}

// readHeading matches the header row with the schema. Names must agree
// exactly, apart from spaces around them. A field without a column and a title
// that stands twice are refused; a column without a field is left to
// undeclared.
func readHeading(where Origin, row rawRow, schema *codebook.Schema) (*heading, []string, error) {
	where.Row = row.number
	titles := make([]string, len(row.cells))
	at := make(map[string]int, len(row.cells))
	for i, c := range row.cells {
		cell := where
		cell.Column = i + 1
		switch c.sort {
		case errorCell:
			return nil, nil, refuse(cell, "error value %s where a column's name should be", c.text)
		case uncachedCell:
			return nil, nil, refuse(cell, "a formula without a stored value where a column's name should be")
		}
		title := strings.TrimSpace(c.text)
		titles[i] = title
		if title == "" {
			continue
		}
		if first, twice := at[title]; twice {
			return nil, nil, refuse(where, "columns %d and %d are both named %q", first+1, i+1, title)
		}
		at[title] = i
	}
	h := &heading{row: row.number, titled: make([]bool, len(titles)), known: make([]bool, len(titles))}
	for i, title := range titles {
		h.titled[i] = title != ""
	}
	var lacking []string
	for _, f := range schema.Fields {
		i, ok := at[f.Name]
		if !ok {
			lacking = append(lacking, f.Name)
			continue
		}
		h.columns = append(h.columns, i)
		h.known[i] = true
	}
	if len(lacking) > 0 {
		var free []string
		for i, title := range titles {
			if title != "" && !h.known[i] {
				free = append(free, title)
			}
		}
		e := refuse(where, "no column named %s", quoteList(lacking))
		e.Nearest = document.Nearest(lacking[0], free)
		return nil, nil, e
	}
	return h, titles, nil
}

// quoteList names words for a message, the first few of many.
func quoteList(words []string) string {
	const most = 12
	var b strings.Builder
	for i, w := range words {
		if i == most {
			fmt.Fprintf(&b, " and %d more", len(words)-most)
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(strconv.Quote(w))
	}
	return b.String()
}
