package dataset

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// table writes the sheet of a table.
func (t *template) table(r *codebook.Resource) error {
	f, sheet := t.file, t.sheets[r.Name]
	fields := r.Schema.Fields
	if len(fields) > maxColumns || r.HeaderRow >= maxRows {
		return fmt.Errorf("%d variables below row %d do not fit into a sheet", len(fields), r.HeaderRow)
	}
	if r.HeaderRow > 1 {
		title := r.Title
		if title == "" {
			title = r.Name
		}
		if err := t.text(sheet, "A1", title, t.styles.title); err != nil {
			return err
		}
	}
	header := strconv.Itoa(r.HeaderRow)
	for i, field := range fields {
		c := t.column(r, i)
		if err := f.SetColStyle(sheet, c.letters, t.styles.cells[formatOf(field)]); err != nil {
			return err
		}
		width := float64(min(max(utf8.RuneCountInString(field.Name)+4, widthOf(field)), 40))
		if err := f.SetColWidth(sheet, c.letters, c.letters, width); err != nil {
			return err
		}
		if err := t.text(sheet, c.letters+header, field.Name, t.styles.headers[needOf(field)]); err != nil {
			return err
		}
		if err := t.comment(sheet, c.letters+header, field); err != nil {
			return err
		}
		if err := t.validate(sheet, c); err != nil {
			return err
		}
		if needOf(field) > mayBeEmpty {
			if err := t.mark(sheet, c, len(fields)); err != nil {
				return err
			}
		}
	}
	if err := f.SetRowHeight(sheet, r.HeaderRow, 21); err != nil {
		return err
	}
	last := columnLetters(len(fields))
	split := 0
	if len(r.Schema.PrimaryKey) > 0 && len(fields) > 3 && r.Schema.PrimaryKey[0] == fields[0].Name || fields[0].Constraints.Unique {
		split = 1
	}
	if err := freezeCorner(f, sheet, r.HeaderRow, split); err != nil {
		return err
	}
	if err := f.AutoFilter(sheet, fmt.Sprintf("A%s:%s%d", header, last, min(r.HeaderRow+t.rows, maxRows)), nil); err != nil {
		return err
	}
	if err := printOnOnePage(f, sheet); err != nil {
		return err
	}
	return f.SetSheetDimension(sheet, "A1:"+last+header)
}

// text writes a text in a style.
func (t *template) text(sheet, ref, text string, style int) error {
	if err := t.file.SetCellStr(sheet, ref, storedText(text)); err != nil {
		return err
	}
	return t.file.SetCellStyle(sheet, ref, ref, style)
}

// A need says whether a cell of a row that was begun may stay empty.
type need uint8

const (
	mayBeEmpty need = iota
	needsCode       // a value or a missing code must be there
	needsValue
)

// needOf tells the need of a variable.
func needOf(f *codebook.Field) need {
	if f.Constraints.Required {
		return needsValue
	}
	for _, m := range f.Codes() {
		if m.Value == "" {
			return mayBeEmpty
		}
	}
	return needsCode
}

// codesOf lists the missing codes that a cell may hold, the empty one left out.
func codesOf(f *codebook.Field) []codebook.MissingValue {
	var codes []codebook.MissingValue
	for _, m := range f.Codes() {
		if m.Value != "" && !f.Constraints.Required {
			codes = append(codes, m)
		}
	}
	return codes
}

// widthOf is the least width of a column, in characters.
func widthOf(f *codebook.Field) int {
	width := 10
	for _, w := range f.Words() {
		width = max(width, min(utf8.RuneCountInString(w)+4, 28))
	}
	switch {
	case f.Role == "free_text":
		width = 40
	case f.Kind() == value.Date:
		width = 13
	}
	return width
}

// mark colours the empty cells of a variable in rows that were begun.
func (t *template) mark(sheet string, c templateColumn, columns int) error {
	row := strconv.Itoa(c.first)
	return t.file.SetConditionalFormat(sheet, c.area(), []excelize.ConditionalFormatOptions{{
		Type: "formula", Format: &t.styles.missing,
		Criteria: fmt.Sprintf("AND(COUNTA($A%s:$%s%s)>0,LEN(%s)=0)", row, columnLetters(columns), row, c.cell()),
	}})
}

// comment explains a variable at its name.
func (t *template) comment(sheet, ref string, f *codebook.Field) error {
	lines := []string{}
	if f.Description != "" && f.Description != f.Label() {
		lines = append(lines, f.Description)
	}
	lines = append(lines, "Enter "+wanted(f)+".")
	if codes := codesOf(f); len(codes) > 0 {
		lines = append(lines, "If missing: "+strings.Join(labelled(codes), "; ")+".")
	}
	lines = append(lines, needs[needOf(f)])
	text := cutRunes(strings.Join(lines, "\n"), 900)
	height := 40
	for _, line := range append(lines, f.Label()) {
		height += 18 * (1 + utf8.RuneCountInString(line)/38)
	}
	return t.file.AddComment(sheet, excelize.Comment{
		Cell: ref, Author: "heelcohort", Width: 300, Height: uint(min(height, 420)),
		Paragraph: []excelize.RichTextRun{
			{Text: f.Label() + "\n", Font: &excelize.Font{Family: workbookFont, Size: 10, Bold: true}},
			{Text: text, Font: &excelize.Font{Family: workbookFont, Size: 10}},
		},
	})
}

// needs are the needs in words.
var needs = map[need]string{
	mayBeEmpty: "The cell may stay empty.",
	needsCode:  "Leave no cell empty: enter a value or a missing code.",
	needsValue: "A value must be there.",
}

// labelled writes codes with what they mean.
func labelled(codes []codebook.MissingValue) []string {
	out := make([]string, len(codes))
	for i, m := range codes {
		if out[i] = m.Value; m.Label != "" {
			out[i] += " " + m.Label
		}
	}
	return out
}

// cutRunes shortens a text for a person to read.
func cutRunes(text string, most int) string {
	runes := []rune(text)
	if len(runes) <= most {
		return text
	}
	return string(runes[:most-1]) + "…"
}
