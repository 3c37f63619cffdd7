package dataset

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"path"
	"regexp"

	"github.com/xuri/excelize/v2"

	"heelcohort/dataset/ooxml"
)

// Fills of marked cells.
const (
	errorFill   = "FFC7CE"
	warningFill = "FFEB9C"
)

// A fillStyles makes, for each style of a cell, the same style with a fill.
// The record of the style is copied and its fill exchanged; taking a style
// apart and putting it together again through excelize loses colours where a
// workbook has no theme.
type fillStyles struct {
	book  *excelize.File
	fills map[Severity]int // number of the fill
	made  map[fillKey]int
}

type fillKey struct {
	style    int
	severity Severity
}

func newFillStyles(book *excelize.File) *fillStyles {
	return &fillStyles{book: book, fills: make(map[Severity]int), made: make(map[fillKey]int)}
}

// fill colours a cell and leaves everything else of its style alone.
func (s *fillStyles) fill(sheet, ref string, severity Severity) error {
	old, err := s.book.GetCellStyle(sheet, ref)
	if err != nil {
		return err
	}
	id, err := s.of(old, severity)
	if err != nil {
		return err
	}
	return s.book.SetCellStyle(sheet, ref, ref, id)
}

// of gives the filled counterpart of a style. A style that the workbook lacks
// counts as the default one.
func (s *fillStyles) of(old int, severity Severity) (int, error) {
	key := fillKey{old, severity}
	if id, ok := s.made[key]; ok {
		return id, nil
	}
	fill, err := s.colour(severity)
	if err != nil {
		return 0, err
	}
	list := s.book.Styles.CellXfs
	if old < 0 || old >= len(list.Xf) {
		old = 0
	}
	yes := true
	style := list.Xf[old]
	style.FillID, style.ApplyFill = &fill, &yes
	list.Xf = append(list.Xf, style)
	list.Count = len(list.Xf)
	id := list.Count - 1
	s.made[key] = id
	return id, nil
}

// colour gives the number of a severity's fill, which it makes on first use.
func (s *fillStyles) colour(severity Severity) (int, error) {
	if n, ok := s.fills[severity]; ok {
		return n, nil
	}
	colour := errorFill
	if severity == Warning {
		colour = warningFill
	}
	id, err := s.book.NewStyle(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}})
	if err != nil {
		return 0, err
	}
	n := s.book.Styles.CellXfs.Xf[id].FillID
	if n == nil {
		return 0, errors.New("the workbook takes no fill")
	}
	s.fills[severity] = *n
	return *n, nil
}

// plainStyles is the least that a workbook's styles hold: the default style.
const plainStyles = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n" +
	`<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">` +
	`<fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>` +
	`<fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills>` +
	`<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>` +
	`<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>` +
	`<cellXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/></cellXfs>` +
	`</styleSheet>`

// The ends of the two lists in which a new part is entered, with the prefix of
// their name space.
var (
	relationshipsEnd = regexp.MustCompile(`</(\w+:)?Relationships>\s*$`)
	typesEnd         = regexp.MustCompile(`</(\w+:)?Types>\s*$`)
)

// withStyles gives a workbook without styles, as some programs write it, the
// default one. Without it the first fill would become the style of every cell.
func withStyles(p *ooxml.Book, data []byte) ([]byte, error) {
	rels, err := p.Relationships(p.Main)
	if err != nil {
		return nil, err
	}
	for _, r := range rels {
		if r.Is("styles") {
			return data, nil
		}
	}
	const kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles"
	const content = "application/vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"
	if p.Has("xl/styles.xml") {
		return nil, errors.New("part xl/styles.xml belongs to nothing")
	}
	dir, base := path.Split(p.Main)
	enter := map[string]struct {
		end  *regexp.Regexp
		line string
	}{
		dir + "_rels/" + base + ".rels": {relationshipsEnd, `<${1}Relationship Id="heelcohortStyles" Type="` + kind + `" Target="/xl/styles.xml"/>`},
		"[Content_Types].xml":           {typesEnd, `<${1}Override PartName="/xl/styles.xml" ContentType="` + content + `"/>`},
	}
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range in.File {
		e, changed := enter[f.Name]
		if !changed {
			if err := z.Copy(f); err != nil {
				return nil, err
			}
			continue
		}
		part, err := p.ReadPart(f.Name)
		if err != nil {
			return nil, err
		}
		if !e.end.Match(part) {
			return nil, fmt.Errorf("part %q has no end", f.Name)
		}
		if err := writePart(z, f.Name, e.end.ReplaceAll(part, []byte(e.line+"$0"))); err != nil {
			return nil, err
		}
	}
	if err := writePart(z, "xl/styles.xml", []byte(plainStyles)); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// writePart adds a part to an archive, without a time.
func writePart(z *zip.Writer, name string, data []byte) error {
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate})
	if err != nil {
		return err
	}
	_, err = w.Write(data)
	return err
}
