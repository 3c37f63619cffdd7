package dataset

import (
	"strings"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// A cellKind is how the empty cells of a variable are formatted.
type cellKind string

// formatOf is the number format of a variable's cells: texts stay texts, so
// that 007 keeps its zeros; dates are shown as the codebook writes them.
func formatOf(f *codebook.Field) cellKind {
	switch {
	case f.Type == codebook.TypeString:
		return "@"
	case f.Kind() == value.Date:
		return dateFormatOf(f.Format)
	}
	return "General"
}

// dateFormatOf is a date's format in the words of a workbook.
func dateFormatOf(format string) cellKind {
	if format == "" || format == "default" {
		return "yyyy-mm-dd"
	}
	var b strings.Builder
	for i := 0; i < len(format); i++ {
		if format[i] != '%' || i+1 == len(format) {
			if c := format[i]; c == '-' || c == '/' || c == ' ' {
				b.WriteByte(c)
			} else {
				b.WriteString(`\` + string(rune(c)))
			}
			continue
		}
		i++
		b.WriteString(map[byte]string{'Y': "yyyy", 'm': "mm", 'd': "dd", 'b': "mmm", 'B': "mmmm"}[format[i]])
	}
	return cellKind(b.String())
}

// templateStyles are the looks of a template's cells.
type templateStyles struct {
	title, section, note, head, label, body int
	headers                                 map[need]int
	cells                                   map[cellKind]int
	missing                                 int // conditional
}

// The colours of a template: ink on paper, two tints, and one for what lacks.
const (
	inkColour   = "1F3A44"
	midColour   = "9DB4BC"
	paleColour  = "E3EAEC"
	lackColour  = "FBE3C0"
	whiteColour = "FFFFFF"
	ruleColour  = "C9D3D6"
)

// style makes the styles of a template.
func (t *template) style() error {
	font := func(size float64, bold bool, colour string) *excelize.Font {
		return &excelize.Font{Family: workbookFont, Size: size, Bold: bold, Color: colour}
	}
	fill := func(colour string) excelize.Fill {
		return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
	}
	rule := []excelize.Border{{Type: "bottom", Color: ruleColour, Style: 1}}
	top := &excelize.Alignment{Vertical: "top", WrapText: true}
	middle := &excelize.Alignment{Vertical: "center"}
	s := &t.styles
	s.headers, s.cells = map[need]int{}, map[cellKind]int{}
	var err error
	add := func(style *excelize.Style) (id int) {
		if err == nil {
			id, err = t.file.NewStyle(style)
		}
		return id
	}
	s.title = add(&excelize.Style{Font: font(16, true, inkColour), Alignment: middle})
	s.section = add(&excelize.Style{Font: font(13, true, inkColour), Alignment: middle})
	s.note = add(&excelize.Style{Font: font(11, false, "404040"), Alignment: top})
	s.head = add(&excelize.Style{Font: font(11, true, inkColour), Fill: fill(paleColour), Alignment: top})
	s.label = add(&excelize.Style{Font: font(11, true, "000000"), Border: rule, Alignment: top})
	s.body = add(&excelize.Style{Font: font(11, false, "000000"), Border: rule, Alignment: top})
	s.headers[needsValue] = add(&excelize.Style{Font: font(11, true, whiteColour), Fill: fill(inkColour), Alignment: middle})
	s.headers[needsCode] = add(&excelize.Style{Font: font(11, true, "000000"), Fill: fill(midColour), Alignment: middle})
	s.headers[mayBeEmpty] = add(&excelize.Style{Font: font(11, true, "000000"), Fill: fill(paleColour), Alignment: middle})
	for _, r := range t.pack.Resources {
		for _, f := range r.Schema.Fields {
			kind := formatOf(f)
			if _, made := s.cells[kind]; !made {
				format := string(kind)
				s.cells[kind] = add(&excelize.Style{Font: font(11, false, "000000"), CustomNumFmt: &format})
			}
		}
	}
	if err == nil {
		s.missing, err = t.file.NewConditionalStyle(&excelize.Style{Fill: fill(lackColour)})
	}
	return err
}
