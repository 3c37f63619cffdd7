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
var listWidths = []float64{22, 10, 24, 10, 16, 20, 24, 28, 20, 70}

// mostFrozen is how many rows are kept in view at most.
const mostFrozen = 12

// listFindings adds the sheet that lists all findings below a summary by rule,
// the worst first. at, when not nil, gives
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
	header, widths, all := listHeader, listWidths, findings
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
	summary := func(texts ...string) error {
		if at != nil {
			texts = append([]string{""}, texts...) // below the column of lines
		}
		return put(texts...)
	}
	if err := summary("first", "findings", "rule", "severity", "what it means, and what to do"); err != nil {
		return err
	}
	if err := book.SetCellStyle(name, "A"+strconv.Itoa(row), "F"+strconv.Itoa(row), bold); err != nil {
		return err
	}
	for _, g := range groupRules(all) {
		place := g.First[0].Where.Cell()
		if sheet := g.First[0].Where.Sheet; sheet != "" {
			place = strings.TrimSpace(sheet + " " + place)
		}
		text := g.First[0].Explain()
		if err := summary(place, strconv.Itoa(g.Count), g.Rule, g.Severity.String(), text.Sentence+" "+text.Ask); err != nil {
			return err
		}
	}
	row++ // an empty row between the summary and the list
	if err := put(header...); err != nil {
		return err
	}
	head := strconv.Itoa(row)
	if err := book.SetCellStyle(name, "A"+head, columnLetters(len(header))+head, bold); err != nil {
		return err
	}
	if row <= mostFrozen {
		if err := freeze(book, name, row); err != nil {
			return err
		}
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
