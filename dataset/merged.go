package dataset

import (
	"errors"
	"fmt"
	"io"
	"slices"
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
func (s *sheetSource) mergedAhead() ([]area, error) {
	sheet, err := s.workbook.find(s.where.Sheet)
	if err != nil {
		return nil, err
	}
	part, _, err := s.workbook.pack.open(sheet.part)
	if err != nil {
		return nil, &ReadError{Where: s.where, Message: err.Error(), Err: err}
	}
	defer part.Close()
	scanner := newCellScanner(part)
	for {
		_, _, err := scanner.next()
		if errors.Is(err, io.EOF) {
			return scanner.areas, nil
		}
		if err != nil {
			return nil, &ReadError{Where: s.where, Message: "the sheet is damaged: " + err.Error(), Err: err}
		}
	}
}
