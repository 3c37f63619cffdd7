package dataset

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
)

// markText writes a text file as a workbook of texts with its findings marked.
// The records stand in order, an empty line is an empty row; where no record
// spreads over several lines, row and line agree.
func markText(ctx context.Context, file string, data []byte, r *codebook.Resource, findings []Finding) (out []byte, err error) {
	source, err := newText(file, data, r)
	if err != nil {
		return nil, err
	}
	tmp, err := os.MkdirTemp("", "heelcohort-")
	if err != nil {
		return nil, fmt.Errorf("dataset: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(tmp)) }()
	book := excelize.NewFile(excelize.Options{TmpDir: tmp})
	defer func() { err = errors.Join(err, book.Close()) }()
	book.ZipWriter = newSortedArchive
	sheet := uniqueSheetName(strings.TrimSuffix(path.Base(file), path.Ext(file)), make(map[string]bool))
	if err := book.SetSheetName("Sheet1", sheet); err != nil {
		return nil, err
	}
	t := textMarker{book: book, sheet: sheet, fills: newFillStyles(book), rowOf: make(map[int]int)}
	remarks, err := t.write(ctx, source, findings)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	at := func(o Origin) (string, string) {
		row, column := t.cell(o)
		return sheet, columnLetters(column) + strconv.Itoa(row)
	}
	if err := listFindings(book, findings, remarks, at); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	if err := setAuthor(book); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := book.Write(&b); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return b.Bytes(), nil
}

// A textMarker writes the records of a text file as a sheet.
type textMarker struct {
	book  *excelize.File
	sheet string
	fills *fillStyles
	rowOf map[int]int // line: row of the sheet
}

// cell is where a finding is marked.
func (t *textMarker) cell(o Origin) (row, column int) {
	row, ok := t.rowOf[o.Row]
	if !ok {
		row = 1
	}
	return row, min(max(o.Column, 1), maxColumns)
}

// write streams the records, which takes two passes over the lines: the first
// learns each record's row, the second writes cells and fills.
func (t *textMarker) write(ctx context.Context, source *textSource, findings []Finding) ([]string, error) {
	records, err := t.records(ctx, source)
	if err != nil {
		return nil, err
	}
	marks := marksOf(findings, t.cell)
	var remarks []string
	if len(marks) > maxMarked {
		remarks = append(remarks, fmt.Sprintf("Only the first %d of %d cells are marked.", maxMarked, len(marks)))
		marks = marks[:maxMarked]
	}
	fills := make(map[[2]int]int, len(marks))
	for _, m := range marks {
		if fills[[2]int{m.row, m.column}], err = t.fills.of(0, m.severity); err != nil {
			return nil, err
		}
		// Comments go before the cells: the streamed sheet is closed with
		// what it knows by then.
		if err := addComment(t.book, t.sheet, columnLetters(m.column)+strconv.Itoa(m.row), m.text); err != nil {
			return nil, err
		}
	}
	width := 1
	for _, m := range marks {
		width = max(width, m.column)
	}
	for _, record := range records {
		width = max(width, len(record))
	}
	if width > maxColumns || len(records) > maxRows {
		return nil, fmt.Errorf("%d records of %d cells, more than a sheet holds", len(records), width)
	}
	err = t.book.SetSheetDimension(t.sheet, "A1:"+columnLetters(width)+strconv.Itoa(max(len(records), 1)))
	if err != nil {
		return nil, err
	}
	stream, err := t.book.NewStreamWriter(t.sheet)
	if err != nil {
		return nil, err
	}
	last := make(map[int]int, len(marks)) // row: last marked column
	for _, m := range marks {
		last[m.row] = max(last[m.row], m.column)
	}
	quotes := newQuoteStyles(t.book)
	for i, record := range records {
		row := i + 1
		cells := make([]any, max(len(record), last[row]))
		for j := range cells {
			var text any
			if j < len(record) && record[j] != "" {
				text = storedText(record[j])
			}
			style := fills[[2]int{row, j + 1}]
			if j < len(record) {
				style = quotes.of(style, record[j])
			}
			if style != 0 {
				cells[j] = excelize.Cell{StyleID: style, Value: text}
			} else {
				cells[j] = text
			}
		}
		if err := stream.SetRow("A"+strconv.Itoa(row), cells); err != nil {
			return nil, err
		}
	}
	return remarks, stream.Flush()
}

// records reads the file into memory and notes the row of each line on which
// a record begins.
func (t *textMarker) records(ctx context.Context, source *textSource) ([][]string, error) {
	var records [][]string
	for n := 0; ; n++ {
		if n%checkEvery == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		row, err := source.next()
		if errors.Is(err, io.EOF) {
			return records, nil
		}
		if err != nil {
			return nil, err
		}
		record := make([]string, len(row.cells))
		for i, c := range row.cells {
			record[i] = c.text
		}
		records = append(records, record)
		t.rowOf[row.number] = len(records)
	}
}
