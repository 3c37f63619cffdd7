package dataset

import (
	"context"
	"fmt"
	"slices"
)

// A Sheet is one sheet of a workbook, read whole and without a codebook.
type Sheet struct {
	Name string
	Rows []GridRow
}

// maxSheetCells limits what ReadSheets holds in memory.
const maxSheetCells = 1 << 20

// ReadSheets reads every cell of a small workbook in xlsx format, such as a
// codebook kept as one. The name of the file is used in messages; errors are
// *ReadError. Formulas are read as the value stored with them.
func ReadSheets(file string, data []byte) ([]Sheet, error) {
	sort, err := sortOf(file, data)
	if err != nil {
		return nil, err
	}
	if sort != workbookFile {
		return nil, refuse(Origin{File: file}, "a text file, expected a workbook in xlsx format")
	}
	g := &GridFile{File: File{Path: file}}
	if err := g.openWorkbook(data); err != nil {
		return nil, err
	}
	var sheets []Sheet
	cells := 0
	for i, name := range g.Sheets {
		s := Sheet{Name: name}
		for row, err := range g.Rows(context.Background(), i) {
			if err != nil {
				return nil, err
			}
			if cells += len(row.Cells) + 1; cells > maxSheetCells {
				return nil, fmt.Errorf("sheet %q: more than the %d cells that are read of such a workbook", name, maxSheetCells)
			}
			row.Cells = slices.Clone(row.Cells)
			s.Rows = append(s.Rows, row)
		}
		sheets = append(sheets, s)
	}
	return sheets, nil
}
