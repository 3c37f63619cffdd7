package dataset

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
)

// guideWidths are the widths of the guide's columns.
var guideWidths = []float64{24, 26, 44, 10, 44, 32, 26}

var guideHeads = []string{"variable", "title", "description", "unit", "what to enter", "if it is missing", "empty cells"}

// A guideWriter fills the guide row by row.
type guideWriter struct {
	*template
	row int
}

// guide writes the first sheet, which explains every variable.
func (t *template) guide(notes []string) error {
	for i, w := range guideWidths {
		letters := columnLetters(i + 1)
		if err := t.file.SetColWidth(t.guideSheet, letters, letters, w); err != nil {
			return err
		}
	}
	g := &guideWriter{template: t}
	title := t.pack.Title
	if title == "" {
		title = t.pack.Name
	}
	if err := g.wide(title, t.styles.title, 26); err != nil {
		return err
	}
	intro := []string{t.pack.Description}
	intro = append(intro, "Enter the data on the sheets that follow, one for each table. Choose a cell to see what it takes; choose from the list where there is one. The cells of the header row explain each variable too.")
	intro = append(intro, notes...)
	for _, text := range intro {
		if text == "" {
			continue
		}
		if err := g.wide(text, t.styles.note, 0); err != nil {
			return err
		}
	}
	if err := g.legend(); err != nil {
		return err
	}
	for _, r := range t.pack.Resources {
		if err := g.table(r); err != nil {
			return err
		}
	}
	if err := printOnOnePage(t.file, t.guideSheet); err != nil {
		return err
	}
	hide := false
	if err := t.file.SetSheetView(t.guideSheet, 0, &excelize.ViewOptions{ShowGridLines: &hide}); err != nil {
		return err
	}
	return t.file.SetSheetDimension(t.guideSheet, "A1:"+columnLetters(len(guideWidths))+strconv.Itoa(g.row))
}

// wide writes a text over all columns; a height of 0 is that of its lines.
func (g *guideWriter) wide(text string, style int, height float64) error {
	g.row++
	ref := "A" + strconv.Itoa(g.row)
	last := columnLetters(len(guideWidths)) + strconv.Itoa(g.row)
	if err := g.text(g.guideSheet, ref, text, style); err != nil {
		return err
	}
	if err := g.file.MergeCell(g.guideSheet, ref, last); err != nil {
		return err
	}
	if height == 0 {
		width := 0.0
		for _, w := range guideWidths {
			width += w
		}
		height = lineHeight * guideLines(text, width)
	}
	return g.file.SetRowHeight(g.guideSheet, g.row, height)
}

// guideLines is how many lines a text needs in a width.
func guideLines(text string, width float64) float64 {
	lines := 0
	for line := range strings.SplitSeq(text, "\n") {
		lines += 1 + int(float64(max(utf8.RuneCountInString(line)-1, 0))/width)
	}
	return float64(min(lines, 27)) // the greatest height is 409 points
}

// legend explains the colours.
func (g *guideWriter) legend() error {
	g.row++
	for _, need := range []need{needsValue, needsCode, mayBeEmpty} {
		g.row++
		row := strconv.Itoa(g.row)
		if err := g.text(g.guideSheet, "A"+row, "variable", g.styles.headers[need]); err != nil {
			return err
		}
		if err := g.text(g.guideSheet, "B"+row, legends[need], g.styles.note); err != nil {
			return err
		}
		if err := g.file.MergeCell(g.guideSheet, "B"+row, "E"+row); err != nil {
			return err
		}
	}
	return nil
}

// legends say what the colours of the headers mean.
var legends = map[need]string{
	needsValue: "A value must be there. In a row that was begun, empty cells are coloured.",
	needsCode:  "A value or a missing code must be there. In a row that was begun, empty cells are coloured.",
	mayBeEmpty: "The cell may stay empty; that is a missing value.",
}

// table explains one table.
func (g *guideWriter) table(r *codebook.Resource) error {
	g.row++
	heading := g.sheets[r.Name]
	if r.Title != "" && r.Title != heading {
		heading += ": " + r.Title
	}
	if err := g.wide(heading, g.styles.section, 22); err != nil {
		return err
	}
	about := fmt.Sprintf("Sheet %q, read from %s.", g.sheets[r.Name], r.Path)
	if r.Description != "" {
		about = r.Description + " " + about
	}
	if err := g.wide(about, g.styles.note, 0); err != nil {
		return err
	}
	if err := g.line(guideHeads, g.styles.head, g.styles.head); err != nil {
		return err
	}
	for _, f := range r.Schema.Fields {
		missing := strings.Join(labelled(codesOf(f)), "\n")
		cells := []string{f.Name, f.Title, f.Description, f.Unit, guideValues(f), missing, emptyCells[needOf(f)]}
		if err := g.line(cells, g.styles.label, g.styles.body); err != nil {
			return err
		}
	}
	for i, rule := range r.Schema.Rules {
		if i == 0 {
			if err := g.wide("Conditions on several variables, which are checked after entry:", g.styles.note, 0); err != nil {
				return err
			}
		}
		if err := g.wide("•  "+rule.Message, g.styles.note, 0); err != nil {
			return err
		}
	}
	return nil
}

var emptyCells = map[need]string{needsValue: "a value must be there", needsCode: "a value or a code must be there", mayBeEmpty: "may stay empty"}

// guideValues says what a cell takes, categories one a line with their labels.
func guideValues(f *codebook.Field) string {
	text := wanted(f)
	if len(f.Categories) > 0 {
		lines := make([]string, len(f.Categories))
		for i, c := range f.Categories {
			if lines[i] = c.Value; c.Label != "" && !strings.EqualFold(c.Label, c.Value) {
				lines[i] += " = " + c.Label
			}
		}
		text = "one of:\n" + strings.Join(lines, "\n")
	}
	if f.Constraints.Unique {
		text += "; no two rows may share it"
	}
	return text
}

// line writes one row of the guide's table.
func (g *guideWriter) line(cells []string, first, others int) error {
	g.row++
	lines := 1.0
	for i, text := range cells {
		style := others
		if i == 0 {
			style = first
		}
		if err := g.text(g.guideSheet, columnLetters(i+1)+strconv.Itoa(g.row), text, style); err != nil {
			return err
		}
		lines = max(lines, guideLines(text, guideWidths[i]))
	}
	return g.file.SetRowHeight(g.guideSheet, g.row, lineHeight*lines+3)
}
