package codebook

import (
	"strings"
	"unicode"

	"heelcohort/codebook/document"
)

// lastColumn is the last column of a sheet, XFD.
const lastColumn = 16384

// columnNumber is the number of a column, from 1, that a spreadsheet shows as
// letters; 0 for anything else.
func columnNumber(letters string) int {
	n := 0
	for _, r := range letters {
		if r < 'A' || r > 'Z' {
			return 0
		}
		if n = n*26 + int(r-'A') + 1; n > lastColumn {
			return 0
		}
	}
	return n
}

// place checks what is said of the field's column.
func (c *checker) place(f *Field, raw *rawField) {
	seen := map[string]document.Position{}
	for _, s := range raw.Own.Titles {
		title := Heading(s.Value)
		switch {
		case title == "":
			c.text(s, "", "an empty title, expected a column's title")
		case strings.ContainsFunc(title, unicode.IsControl):
			c.text(s, "", "title %q holds a control character", s.Value)
		}
		c.unique(seen, document.String{Value: title, Position: s.Position}, "title")
		f.Titles = append(f.Titles, s.Value)
	}
	if s := raw.Own.Column; s != nil {
		if columnNumber(s.Value) == 0 {
			nearest := strings.ToUpper(Bare(s.Value))
			if columnNumber(nearest) == 0 {
				nearest = ""
			}
			c.text(*s, nearest, `column %q, expected the letters of a column from "A" to "XFD"`, s.Value)
			return
		}
		f.Column = s.Value
	}
}

// Headings are the titles under which the field's column may stand, its name
// before the others, as [Heading] writes them.
func (f *Field) Headings() []string {
	out := []string{Heading(f.Name)}
	for _, t := range f.Titles {
		out = append(out, Heading(t))
	}
	return out
}

// places refuses fields that one column could be. Two fields may share a title
// if each says its column.
func (c *checker) places(fields []*Field, raw []rawField) {
	byColumn := map[string]*Field{}
	byTitle := map[string]*Field{}
	for i, f := range fields {
		if f.Column != "" {
			if other := byColumn[f.Column]; other != nil {
				c.text(*raw[i].Own.Column, "", "column %q of %s is that of %s too", f.Column, f.Name, other.Name)
			}
			byColumn[f.Column] = f
		}
		for _, title := range f.Headings() {
			other := byTitle[title]
			if other == nil {
				byTitle[title] = f
				continue
			}
			// Where one of three says no column, the first fault tells enough.
			if other != f && other.Name != f.Name && (other.Column == "" || f.Column == "") {
				c.at(raw[i].Name.Position, "", "title %q of %s is a title of %s too; tell them apart by heelcohort.column", title, f.Name, other.Name)
			}
		}
	}
}
