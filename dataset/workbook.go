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
	Entry  // a text that is to be edited; what is typed over it stays a text
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
	Entry  bool      // the empty cells of the columns with a width are Entry too

	FreezeColumns int        // columns kept in view
	Choices       [][]string // by column, words offered below the frozen rows; others may be typed
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

// workbookFont is the font of plain cells; a style that names none is shown in
// another one by some programs.
const workbookFont = "Calibri"

// workbookStyles makes the styles, in the order of the Style constants.
func workbookStyles(f *excelize.File) ([]int, error) {
	rule := []excelize.Border{{Type: "bottom", Color: "000000", Style: 1}}
	wanted := []*excelize.Style{
		Plain:  {Alignment: &excelize.Alignment{Vertical: "top"}},
		Title:  {Font: &excelize.Font{Family: workbookFont, Bold: true, Size: 13}},
		Header: {Font: &excelize.Font{Family: workbookFont, Size: 11, Bold: true}, Border: rule, Alignment: &excelize.Alignment{WrapText: true, Vertical: "bottom"}},
		Label:  {Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}},
		Figure: {Alignment: &excelize.Alignment{Horizontal: "right", Vertical: "top"}},
		Note:   {Font: &excelize.Font{Family: workbookFont, Size: 9}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}},
		Entry:  {NumFmt: 49, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}}, // format 49 is text
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
	if s.Entry && len(s.Widths) > 0 {
		if err := f.SetColStyle(name, "A:"+columnLetters(len(s.Widths)), styles[Entry]); err != nil {
			return err
		}
	}
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
		if err := freezeCorner(f, name, s.Freeze, s.FreezeColumns); err != nil {
			return err
		}
	}
	if err := offer(f, name, s); err != nil {
		return err
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
func freeze(f *excelize.File, sheet string, rows int) error { return freezeCorner(f, sheet, rows, 0) }

// freezeCorner keeps the first rows and columns in view.
func freezeCorner(f *excelize.File, sheet string, rows, columns int) error {
	panes := &excelize.Panes{
		Freeze: true, YSplit: rows, XSplit: columns, TopLeftCell: columnLetters(columns+1) + strconv.Itoa(rows+1), ActivePane: "bottomLeft",
	}
	if columns > 0 {
		panes.ActivePane = "bottomRight"
	}
	return f.SetPanes(sheet, panes)
}

// offer lets words be chosen from a list where others may be typed too.
func offer(f *excelize.File, sheet string, s WorkbookSheet) error {
	const spare = 1000 // rows below the last
	for i, words := range s.Choices {
		if len(words) == 0 {
			continue
		}
		v := excelize.NewDataValidation(true)
		letters := columnLetters(i + 1)
		v.Sqref = fmt.Sprintf("%s%d:%s%d", letters, s.Freeze+1, letters, min(len(s.Rows)+spare, maxRows))
		if err := v.SetDropList(words); err != nil {
			return err
		}
		if err := f.AddDataValidation(sheet, v); err != nil {
			return err
		}
	}
	return nil
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
