package dataset

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"heelcohort/dataset/harmless"
)

// listHeader is the head of the sheet of findings.
var listHeader = []string{
	"sheet", "cell", "rule", "severity", "table", "variable", "found", "expected", "nearest", "message",
}

// listWidths are the widths of its columns.
var listWidths = []float64{16, 10, 18, 10, 16, 20, 24, 28, 20, 70}

// listFindings adds the sheet that lists all findings. at, when not nil, gives
// the cell of the workbook for a finding of a text file; the finding's own
// place is then the line, and stands in a column of its own.
func listFindings(book *excelize.File, findings []Finding, remarks []string, at func(Origin) (sheet, cell string)) error {
	taken := make(map[string]bool)
	for _, name := range book.GetSheetList() {
		taken[strings.ToLower(name)] = true
	}
	name := uniqueSheetName("Findings", taken)
	if _, err := book.NewSheet(name); err != nil {
		return err
	}
	bold, err := book.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}})
	if err != nil {
		return err
	}
	header, widths := listHeader, listWidths
	if at != nil {
		header = append([]string{"line"}, header...)
		widths = append([]float64{18}, widths...)
	}
	if len(findings) > maxListed {
		remarks = append(remarks, fmt.Sprintf("Only the first %d of %d findings are listed.", maxListed, len(findings)))
		findings = findings[:maxListed]
	}
	row, quotes := 0, newQuoteStyles(book)
	put := func(texts ...string) error {
		row++
		for i, text := range texts {
			if text == "" {
				continue
			}
			ref := columnLetters(i+1) + strconv.Itoa(row)
			if err := book.SetCellStr(name, ref, storedText(harmless.Sheet(text))); err != nil {
				return err
			}
			if style := quotes.of(0, text); style != 0 {
				if err := book.SetCellStyle(name, ref, ref, style); err != nil {
					return err
				}
			}
		}
		return nil
	}
	for _, remark := range remarks {
		if err := put(remark); err != nil {
			return err
		}
	}
	if err := put(header...); err != nil {
		return err
	}
	head := strconv.Itoa(row)
	if err := book.SetCellStyle(name, "A"+head, columnLetters(len(header))+head, bold); err != nil {
		return err
	}
	if err := freeze(book, name, row); err != nil {
		return err
	}
	for _, f := range findings {
		texts := []string{
			f.Where.Sheet, f.Where.Cell(), f.Rule, f.Severity.String(), f.Table, f.Variable,
			f.Found, f.Expected, f.Nearest, f.Message,
		}
		if at != nil {
			texts[0], texts[1] = at(f.Where)
			texts = append([]string{f.Where.Cell()}, texts...)
		}
		if err := put(texts...); err != nil {
			return err
		}
	}
	for i, w := range widths {
		letters := columnLetters(i + 1)
		if err := book.SetColWidth(name, letters, letters, w); err != nil {
			return err
		}
	}
	return book.SetSheetDimension(name, "A1:"+columnLetters(len(header))+strconv.Itoa(row))
}
