package dataset

import (
	"errors"
	"fmt"
	"io"
	"slices"

	"heelcohort/dataset/ooxml"
)

// merged makes the covered cells of merged areas invalid: a merged area stores
// one value, and the rest of it would pass for empty.
func (t *tableReader) merged(areas []area) {
	for _, a := range areas {
		if a.bottom <= t.head.row || a.top == a.bottom && a.left == a.right {
			continue
		}
		var hit *Column
		for _, c := range t.table.Columns {
			if c.Index < a.left || c.Index > a.right {
				continue
			}
			i, _ := slices.BinarySearch(t.table.Rows, a.top)
			for ; i < t.table.Len() && t.table.Rows[i] <= a.bottom; i++ {
				if hit == nil {
					hit = c
				}
				if t.table.Rows[i] != a.top || c.Index != a.left {
					c.spoil(i)
				}
			}
		}
		if hit == nil {
			continue
		}
		where := t.where
		where.Row, where.Column = a.top, a.left
		ref := fmt.Sprintf("%s%d:%s%d", columnLetters(a.left), a.top, columnLetters(a.right), a.bottom)
		t.findings = append(t.findings, Finding{
			Rule: RuleMergedCells, Table: t.resource.Name, Variable: hit.Name, Where: where, Found: ref,
			Expected: "one value in each cell",
			Message:  fmt.Sprintf("cells %s are merged into one; all but the first were not used", ref),
		})
	}
}

// mergedAhead lists the sheet's merged areas before its rows are read, by
// reading it once more: they stand behind the cells.
func (s *sheetSource) mergedAhead() (areas []area, err error) {
	rows, err := s.book.Rows(s.sheet)
	if err != nil {
		return nil, sheetError(s.where.File, err)
	}
	defer rows.Close()
	for {
		_, err := rows.Next()
		if errors.Is(err, io.EOF) {
			return mergedAreas(rows), nil
		}
		if err != nil {
			return nil, sheetError(s.where.File, err)
		}
	}
}

// mergedAreas are the areas that a sheet merges, known after its last row.
func mergedAreas(rows *ooxml.Rows) []area {
	var areas []area
	for _, a := range rows.Merged() {
		areas = append(areas, area{a.Top, a.Left, a.Bottom, a.Right})
	}
	return areas
}
