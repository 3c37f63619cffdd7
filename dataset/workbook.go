package dataset

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/xuri/excelize/v2"
)

// A Style is how a written cell looks.
type Style uint8

// The styles of written cells.
const (
	Plain Style = iota
	Title
	Header // bold, ruled below
	Label  // row heading
	Figure // right aligned
	Note   // small, wrapped over the table's width
)

// A WorkbookCell is one cell to write: a number when IsNumber, else a text.
// Texts are always written as texts, whatever they look like. A number that is
// not finite is written as Text.
type WorkbookCell struct {
	Text     string
	Number   float64
	IsNumber bool
	Style    Style
	Span     int // columns merged to the right, 0 and 1 are the cell alone
}

// A WorkbookSheet is one sheet to write.
type WorkbookSheet struct {
	Name   string // made legal and unique when it is not
	Rows   [][]WorkbookCell
	Freeze int       // rows kept in view
	Widths []float64 // of the columns, in characters
}

// WriteWorkbook writes sheets as an xlsx workbook. The bytes depend on the
// sheets alone.
//
// Numbers are written so that they read back as the same number, whatever a
// spreadsheet program shows of them. A cell with a Span covers the columns to
// its right; the next cell of the row stands after them. Texts are cut at the
// 32,767 characters that a cell holds.
func WriteWorkbook(w io.Writer, sheets []WorkbookSheet) (err error) {
	if len(sheets) == 0 {
		return fmt.Errorf("dataset: a workbook needs a sheet")
	}
	f := excelize.NewFile()
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	f.ZipWriter = newSortedArchive
	styles, err := workbookStyles(f)
	if err != nil {
		return err
	}
	names := make([]string, len(sheets))
	for i, s := range sheets {
		names[i] = s.Name
	}
	names = sheetNames(names)
	quotes := newQuoteStyles(f)
	for i, s := range sheets {
		if i == 0 {
			err = f.SetSheetName("Sheet1", names[i])
		} else {
			_, err = f.NewSheet(names[i])
		}
		if err != nil {
			return fmt.Errorf("dataset: sheet %q: %w", names[i], err)
		}
		if err := writeSheet(f, names[i], s, styles, quotes); err != nil {
			return fmt.Errorf("dataset: sheet %q: %w", names[i], err)
		}
	}
	if err := setAuthor(f); err != nil {
		return err
	}
	return f.Write(w)
}

// setAuthor replaces the library's name in the document's properties.
func setAuthor(f *excelize.File) error {
	const epoch = "2000-01-01T00:00:00Z" // no clock: the same sheets give the same bytes
	return f.SetDocProps(&excelize.DocProperties{
		Creator: "heelcohort", LastModifiedBy: "heelcohort", Created: epoch, Modified: epoch,
	})
}

// workbookStyles makes the styles, in the order of the Style constants.
func workbookStyles(f *excelize.File) ([]int, error) {
	rule := []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}
	wanted := []*excelize.Style{
		Plain:  {Alignment: &excelize.Alignment{Vertical: "top"}},
		Title:  {Font: &excelize.Font{Bold: true, Size: 13}},
		Header: {Font: &excelize.Font{Bold: true}, Border: rule, Alignment: &excelize.Alignment{WrapText: true, Vertical: "bottom"}},
		Label:  {Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}},
		Figure: {Alignment: &excelize.Alignment{Horizontal: "right", Vertical: "top"}},
		Note:   {Font: &excelize.Font{Size: 9}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}},
	}
	ids := make([]int, len(wanted))
	for i, s := range wanted {
		id, err := f.NewStyle(s)
		if err != nil {
			return nil, err
		}
		ids[i] = id
	}
	return ids, nil
}

// writeSheet fills one sheet.
func writeSheet(f *excelize.File, name string, s WorkbookSheet, styles []int, quotes *quoteStyles) error {
	if len(s.Rows) > maxRows {
		return fmt.Errorf("%d rows, more than the %d of a sheet", len(s.Rows), maxRows)
	}
	width := 1
	for i, row := range s.Rows {
		column := 1
		for _, cell := range row {
			span := max(cell.Span, 1)
			if column+span-1 > maxColumns {
				return fmt.Errorf("row %d has more than the %d columns of a sheet", i+1, maxColumns)
			}
			if err := writeSpan(f, name, i+1, column, span, cell, styles, quotes); err != nil {
				return err
			}
			column += span
		}
		width = max(width, column-1)
		if lines := rowLines(row, s.Widths); lines > 1 {
			if err := f.SetRowHeight(name, i+1, lineHeight*float64(lines)); err != nil {
				return err
			}
		}
	}
	for i, w := range s.Widths {
		letters := columnLetters(i + 1)
		if err := f.SetColWidth(name, letters, letters, min(max(w, 0), 255)); err != nil {
			return err
		}
	}
	if err := printOnOnePage(f, name); err != nil {
		return err
	}
	if s.Freeze > 0 {
		if err := freeze(f, name, s.Freeze); err != nil {
			return err
		}
	}
	return f.SetSheetDimension(name, "A1:"+columnLetters(width)+strconv.Itoa(max(len(s.Rows), 1)))
}

// printOnOnePage lets a print be as wide as a page and as long as need be.
func printOnOnePage(f *excelize.File, sheet string) error {
	fit, landscape, one, free := true, "landscape", 1, 0
	if err := f.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	return f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &one, FitToHeight: &free})
}

// freeze keeps the first rows in view.
func freeze(f *excelize.File, sheet string, rows int) error {
	return f.SetPanes(sheet, &excelize.Panes{
		Freeze: true, YSplit: rows, TopLeftCell: "A" + strconv.Itoa(rows+1), ActivePane: "bottomLeft",
	})
}

// writeSpan writes a cell and merges the columns that it covers.
func writeSpan(f *excelize.File, sheet string, row, column, span int, c WorkbookCell, styles []int, quotes *quoteStyles) error {
	ref := columnLetters(column) + strconv.Itoa(row)
	if err := writeValue(f, sheet, ref, c); err != nil {
		return err
	}
	style := styles[Plain]
	if int(c.Style) < len(styles) {
		style = styles[c.Style]
	}
	if !c.IsNumber {
		style = quotes.of(style, c.Text)
	}
	last := columnLetters(column+span-1) + strconv.Itoa(row)
	if err := f.SetCellStyle(sheet, ref, last, style); err != nil {
		return err
	}
	if span == 1 {
		return nil
	}
	return f.MergeCell(sheet, ref, last)
}

// writeValue writes a number or a text. Numbers go by their shortest exact
// text, because excelize rounds floats to 15 digits.
func writeValue(f *excelize.File, sheet, ref string, c WorkbookCell) error {
	if c.IsNumber && !math.IsNaN(c.Number) && !math.IsInf(c.Number, 0) {
		return f.SetCellDefault(sheet, ref, strconv.FormatFloat(c.Number, 'G', -1, 64))
	}
	if c.Text == "" {
		return nil
	}
	return f.SetCellStr(sheet, ref, storedText(c.Text))
}
