// Package codebookfile reads and writes a codebook in any of its forms: YAML,
// JSON, or a workbook of package sheet. The ending of the file's name says
// which.
package codebookfile

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/codebook/sheet"
	"heelcohort/dataset"
)

// Workbook is the ending of a workbook's name.
const Workbook = ".xlsx"

// Decode reads a codebook. Faults are *document.Error with line and column, or
// with the cell of a workbook; a workbook that cannot be read is a
// *dataset.ReadError.
func Decode(name string, data []byte) (*codebook.Package, error) {
	if !IsWorkbook(name) {
		return codebook.Decode(name, data)
	}
	root, err := Document(name, data)
	if err != nil {
		return nil, err
	}
	return codebook.DecodeDocument(root)
}

// Document reads a codebook's document without asking whether it is a good
// codebook.
func Document(name string, data []byte) (*document.Node, error) {
	if !IsWorkbook(name) {
		return document.Parse(name, data)
	}
	read, err := dataset.ReadSheets(name, data)
	if err != nil {
		return nil, err
	}
	sheets := make([]sheet.Sheet, len(read))
	for i, s := range read {
		sheets[i].Name = s.Name
		for _, row := range s.Rows {
			cells := make([]sheet.Cell, len(row.Cells))
			for j, c := range row.Cells {
				cells[j] = sheet.Cell{Text: strings.ReplaceAll(c.Text, "\r\n", "\n"), Sort: sortOf(c)}
			}
			sheets[i].Rows = append(sheets[i].Rows, sheet.Row{Number: row.Number, Cells: cells})
		}
	}
	return sheet.Read(name, sheets)
}

// sortOf says how a cell of a codebook is stored: a number that is shown as
// something else is neither a number nor a text.
func sortOf(c dataset.GridCell) sheet.Sort {
	switch {
	case c.Stored == dataset.StoredText:
		return sheet.Text
	case c.Stored == dataset.StoredNumber && c.Shown == dataset.ShownPlain:
		return sheet.Number
	case c.Stored == dataset.StoredBoolean:
		return sheet.Boolean
	}
	return sheet.Other
}

// Encode writes a document in the form of the name's ending. What was written
// is read again: a document that would not come back as it was is an error.
func Encode(name string, root *document.Node) ([]byte, error) {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".yaml", ".yml":
		return document.EncodeYAML(root)
	case ".json":
		return document.EncodeJSON(root)
	case Workbook:
		return workbook(name, root)
	}
	return nil, fmt.Errorf("%s: file ending %q, expected .yaml, .json or .xlsx", name, filepath.Ext(name))
}

// workbook writes a document's sheets.
func workbook(name string, root *document.Node) ([]byte, error) {
	sheets, err := sheet.Write(root)
	if err != nil {
		return nil, err
	}
	var out []dataset.WorkbookSheet
	for _, s := range sheets {
		w := dataset.WorkbookSheet{Name: s.Name, Widths: s.Widths, Freeze: 1, FreezeColumns: s.Frozen, Choices: s.Choices, Entry: s.Name != sheet.ReadMe}
		for i, row := range s.Rows {
			var cells []dataset.WorkbookCell
			for _, c := range row.Cells {
				cells = append(cells, dataset.WorkbookCell{Text: c.Text, Style: style(s.Name, c, i)})
			}
			if s.Name == sheet.ReadMe && len(cells) == 1 {
				cells[0].Span = len(s.Widths)
			}
			w.Rows = append(w.Rows, cells)
		}
		if s.Name == sheet.ReadMe {
			w.Freeze = 0
		}
		out = append(out, w)
	}
	var data bytes.Buffer
	if err := dataset.WriteWorkbook(&data, out); err != nil {
		return nil, err
	}
	back, err := Document(name, data.Bytes())
	if err != nil {
		return nil, fmt.Errorf("%s would not read back: %w", name, err)
	}
	if !document.Equal(root, back) {
		return nil, fmt.Errorf("%s would not read back as the same codebook; nothing was written", name)
	}
	return data.Bytes(), nil
}

// style is how a cell of a sheet looks.
func style(name string, c sheet.Cell, row int) dataset.Style {
	switch {
	case name == sheet.ReadMe && row == 0:
		return dataset.Title
	case c.Heading:
		return dataset.Header
	}
	return dataset.Entry
}

// endings are those of the forms.
var endings = []string{".yaml", ".yml", ".json", Workbook}

// IsWorkbook reports whether a name has the ending of a workbook.
func IsWorkbook(name string) bool { return strings.EqualFold(filepath.Ext(name), Workbook) }

// Known reports whether a name has the ending of one of the forms.
func Known(name string) bool { return slices.Contains(endings, strings.ToLower(filepath.Ext(name))) }
