package ooxml

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
)

const (
	mainNS   = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	relNS    = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	packNS   = "http://schemas.openxmlformats.org/package/2006"
	strictNS = "http://purl.oclc.org/ooxml/spreadsheetml/main"
	strictR  = "http://purl.oclc.org/ooxml/officeDocument/relationships"
)

// A made is a workbook in the making: the XML of its parts.
type made struct {
	order []string
	parts map[string]string
}

// newMade is a workbook of one sheet, data, with the given XML inside its
// worksheet.
func newMade(sheet string) *made {
	m := &made{parts: map[string]string{}}
	m.set("[Content_Types].xml", `<Types xmlns="`+packNS+`/content-types"/>`)
	m.set("_rels/.rels", `<Relationships xmlns="`+packNS+`/relationships"><Relationship Id="r1" Type="`+relNS+`/officeDocument" Target="xl/workbook.xml"/></Relationships>`)
	m.set("xl/workbook.xml", `<workbook xmlns="`+mainNS+`" xmlns:r="`+relNS+`"><workbookPr/><sheets><sheet name="data" sheetId="1" r:id="r1"/></sheets></workbook>`)
	m.set("xl/_rels/workbook.xml.rels", `<Relationships xmlns="`+packNS+`/relationships"><Relationship Id="r1" Type="`+relNS+`/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`)
	m.set("xl/worksheets/sheet1.xml", `<worksheet xmlns="`+mainNS+`">`+sheet+`</worksheet>`)
	return m
}

// set puts a part in its place, new ones last.
func (m *made) set(name, xml string) *made {
	if _, there := m.parts[name]; !there {
		m.order = append(m.order, name)
	}
	m.parts[name] = xml
	return m
}

// link adds a relationship of the workbook.
func (m *made) link(sort, target string) *made {
	const name = "xl/_rels/workbook.xml.rels"
	line := `<Relationship Id="` + sort + `" Type="` + relNS + `/` + sort + `" Target="` + target + `"/></Relationships>`
	return m.set(name, strings.Replace(m.parts[name], "</Relationships>", line, 1))
}

// shared adds shared texts, the XML inside <sst>.
func (m *made) shared(xml string) *made {
	return m.link("sharedStrings", "sharedStrings.xml").set("xl/sharedStrings.xml", `<sst xmlns="`+mainNS+`">`+xml+`</sst>`)
}

// styles adds styles, the XML inside <styleSheet>.
func (m *made) styles(xml string) *made {
	return m.link("styles", "styles.xml").set("xl/styles.xml", `<styleSheet xmlns="`+mainNS+`">`+xml+`</styleSheet>`)
}

// bytes is the archive.
func (m *made) bytes() []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range m.order {
		w, err := z.Create(name)
		if err == nil {
			_, err = io.WriteString(w, m.parts[name])
		}
		if err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// A got is a cell as it was read, in its row.
type got struct {
	Row  int
	Cell Cell
}

// readAll reads all sheets of a workbook; the cells of each come in their
// order.
func readAll(data []byte) (map[string][]got, error) {
	b, err := Open(data)
	if err != nil {
		return nil, err
	}
	out := make(map[string][]got)
	for i, s := range b.Sheets {
		cells, err := readSheet(b, i)
		if err != nil {
			return nil, err
		}
		out[s.Name] = cells
	}
	return out, nil
}

// readSheet reads one sheet.
func readSheet(b *Book, i int) ([]got, error) {
	r, err := b.Rows(i)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	var cells []got
	for {
		row, err := r.Next()
		if errors.Is(err, io.EOF) {
			return cells, nil
		}
		if err != nil {
			return nil, err
		}
		for _, c := range row.Cells {
			cells = append(cells, got{row.Number, c})
		}
	}
}

// show writes cells as "B7=text", with the sort's letter where it is no text
// and the format's where it is not plain.
func show(cells []got) string {
	var parts []string
	for _, c := range cells {
		parts = append(parts, fmt.Sprintf("%s%s%s=%s", place(c.Row, c.Cell.Column),
			[...]string{"", ":n", ":b", ":d", ":e", ":f"}[c.Cell.Sort], [...]string{"", "/date", "/percent", "/padded"}[c.Cell.Format], c.Cell.Text))
	}
	return strings.Join(parts, " | ")
}

// wantCells reads the sheet data and compares.
func wantCells(t *testing.T, m *made, want string) {
	t.Helper()
	all, err := readAll(m.bytes())
	if err != nil {
		t.Errorf("%v, want %s", err, want)
		return
	}
	if got := show(all["data"]); got != want {
		t.Errorf("read\n\t%s\nwant\n\t%s", got, want)
	}
}
