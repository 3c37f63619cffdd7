package report

import (
	"io"
	"math"
	"unicode/utf8"

	"heelcohort/dataset"
	"heelcohort/dataset/harmless"
)

// Workbook writes tables.xlsx: the contents, the participant flow, the
// findings, then a sheet for each table, as a manuscript would print it. A
// cell with one count is a number; a cell of several numbers, such as
// "12 (3.4%)", is the text that the page shows.
func Workbook(w io.Writer, in Input) error {
	sheets := bookSheets(in)
	book := make([]dataset.WorkbookSheet, 0, len(sheets)+1)
	book = append(book, contentsSheet(in, sheets))
	for _, s := range sheets {
		book = append(book, bookSheet(s))
	}
	return dataset.WriteWorkbook(w, book)
}

// bookSheets lists the sheets of the report.
func bookSheets(in Input) []Sheet {
	var sheets []Sheet
	if len(in.Results.Flow) > 0 {
		sheets = append(sheets, flowSheet(in.Results.Flow))
	}
	if len(in.Results.Findings) > 0 {
		sheets = append(sheets, findingsSheet(in.Results.Findings, in.Findings))
	}
	if len(in.Results.Exceptions) > 0 {
		sheets = append(sheets, exceptionsSheet(in.Results.Exceptions))
	}
	if len(in.Results.Instruments) > 0 {
		sheets = append(sheets, instrumentsSheet(in.Results.Instruments))
	}
	for _, a := range in.Results.Analyses {
		sheets = append(sheets, sheetsOf(in.Results, a)...)
	}
	return sheets
}

// text is a cell of text.
func text(s string, style dataset.Style, span int) dataset.WorkbookCell {
	return dataset.WorkbookCell{Text: harmless.Sheet(s), Style: style, Span: span}
}

// contentsSheet is the first sheet.
func contentsSheet(in Input, sheets []Sheet) dataset.WorkbookSheet {
	res := in.Results
	page := dataset.WorkbookSheet{Name: "Contents", Widths: []float64{28, 90}}
	page.Rows = append(page.Rows,
		[]dataset.WorkbookCell{text(res.Title, dataset.Title, 2)},
		[]dataset.WorkbookCell{text(in.caution(), dataset.Note, 2)},
		nil,
		[]dataset.WorkbookCell{text("Sheet", dataset.Header, 1), text("Table", dataset.Header, 1)},
	)
	for _, s := range sheets {
		page.Rows = append(page.Rows, []dataset.WorkbookCell{text(s.ID, dataset.Label, 1), text(s.Title, dataset.Label, 1)})
	}
	page.Rows = append(page.Rows, nil)
	if !res.Computed {
		page.Rows = append(page.Rows, []dataset.WorkbookCell{text(notComputed, dataset.Note, 2)})
	}
	page.Rows = append(page.Rows,
		[]dataset.WorkbookCell{text("Plan "+res.Plan+", codebook "+res.Codebook+", "+res.Program+".", dataset.Note, 2)},
		[]dataset.WorkbookCell{text("Full precision and the address of every number: results.json and tables/.", dataset.Note, 2)},
	)
	return page
}

// bookSheet lays a table out: title, head, rows, notes.
func bookSheet(s Sheet) dataset.WorkbookSheet {
	width := max(len(s.Columns), 1)
	page := dataset.WorkbookSheet{Name: s.ID, Widths: columnWidths(s)}
	page.Rows = append(page.Rows, []dataset.WorkbookCell{text(s.Title, dataset.Title, width)})
	for level, row := range s.Head() {
		var cells []dataset.WorkbookCell
		if level == 1 {
			cells = below(s)
		} else {
			for _, h := range row {
				cells = append(cells, text(h.Label, dataset.Header, h.ColSpan))
			}
		}
		page.Rows = append(page.Rows, cells)
	}
	page.Freeze = len(page.Rows)
	for _, row := range s.Rows {
		var cells []dataset.WorkbookCell
		for i, c := range row.Cells {
			switch {
			case row.Section:
				cells = append(cells, text(c.Text(), dataset.Header, width))
			case i == 0:
				cells = append(cells, text(indent(c), dataset.Label, 1))
			default:
				cells = append(cells, bookCell(s, i, c))
			}
		}
		page.Rows = append(page.Rows, cells)
	}
	for _, n := range s.Notes {
		line := textOf(n.Pieces)
		if n.Mark != "" {
			line = n.Mark + "  " + line
		}
		page.Rows = append(page.Rows, []dataset.WorkbookCell{text(line, dataset.Note, width)})
	}
	return page
}

// below is the second row of the head, with empty cells under the headings
// that reach over both rows.
func below(s Sheet) []dataset.WorkbookCell {
	cells := make([]dataset.WorkbookCell, len(s.Columns))
	for i, c := range s.Columns {
		cells[i] = text("", dataset.Header, 1)
		if c.Group != "" {
			cells[i].Text = c.Label
		}
	}
	return cells
}

// bookCell is a cell of a column: a number where it is one whole count, else the
// text as printed.
func bookCell(s Sheet, column int, c Cell) dataset.WorkbookCell {
	style := dataset.Figure
	if s.Columns[column].Text {
		style = dataset.Label
	}
	if x := float64(c.Value); c.Value.Present() && x == math.Trunc(x) && len(c.Marks) == 0 {
		return dataset.WorkbookCell{Text: c.Text(), Number: x, IsNumber: true, Style: style}
	}
	line := c.Text()
	for i, m := range c.Marks {
		if i > 0 {
			line += ","
		}
		line += " " + m
	}
	return text(line, style, 1)
}

// indent is a row heading, moved in below a section.
func indent(c Cell) string {
	if c.Indent {
		return "    " + c.Text()
	}
	return c.Text()
}

// columnWidths is the widths of the columns, in characters.
func columnWidths(s Sheet) []float64 {
	widths := make([]float64, len(s.Columns))
	for i, c := range s.Columns {
		longest := min(utf8.RuneCountInString(c.Label), 16)
		for _, row := range s.Rows {
			if !row.Section && i < len(row.Cells) {
				longest = max(longest, utf8.RuneCountInString(indent(row.Cells[i])))
			}
		}
		most := 28
		if i == 0 || c.Text {
			most = 48
		}
		widths[i] = float64(min(max(longest, 8), most) + 2)
	}
	return widths
}
