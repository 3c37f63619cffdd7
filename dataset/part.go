package dataset

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// A workbookPackage is the zip archive of a workbook with its list of sheets.
type workbookPackage struct {
	zip      *zip.Reader
	names    map[string]*zip.File
	sheets   []sheetPart
	date1904 bool
	main     string // name of the workbook's own part
	strings  string // name of the shared strings' part, or ""
}

// A sheetPart is a sheet's name and the archive's part that holds its cells.
type sheetPart struct{ name, part string }

// A relationship is one line of a .rels part.
type relationship struct {
	ID     string `xml:"Id,attr"`
	Type   string `xml:"Type,attr"`
	Target string `xml:"Target,attr"`
	Mode   string `xml:"TargetMode,attr"`
}

// maxIndexPart limits the parts that are decoded whole.
const maxIndexPart = 16 << 20

// openPackage reads the archive's index, the workbook part and its
// relationships. It refuses archives that unpack to more than is read.
func openPackage(data []byte) (*workbookPackage, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, fmt.Errorf("not a zip archive: %w", err)
	}
	p := &workbookPackage{zip: z, names: make(map[string]*zip.File, len(z.File))}
	var total uint64
	for _, f := range z.File {
		total += f.UncompressedSize64
		if f.UncompressedSize64 > maxUnzippedBytes || total > maxUnzippedBytes {
			return nil, fmt.Errorf("unpacks to more than the %d bytes that are read", int64(maxUnzippedBytes))
		}
		name := strings.ReplaceAll(f.Name, "\\", "/")
		if _, twice := p.names[name]; twice {
			return nil, fmt.Errorf("part %q stands twice in the archive", name)
		}
		p.names[name] = f
	}
	if p.main, err = p.mainPart(); err != nil {
		return nil, err
	}
	return p, p.readWorkbook(p.main)
}

// mainPart finds the workbook part through the archive's own relationships.
func (p *workbookPackage) mainPart() (string, error) {
	rels, err := p.relationships("")
	if err != nil {
		return "", err
	}
	for _, r := range rels {
		if strings.HasSuffix(r.Type, "/officeDocument") {
			return r.Target, nil
		}
	}
	if _, ok := p.names["mimetype"]; ok {
		return "", errors.New("an OpenDocument spreadsheet; save it as .xlsx")
	}
	return "", errors.New("the archive holds no workbook")
}

// readWorkbook lists the sheets in their order.
func (p *workbookPackage) readWorkbook(part string) error {
	var book struct {
		Properties struct {
			Date1904 string `xml:"date1904,attr"`
		} `xml:"workbookPr"`
		Sheets []struct {
			Name string `xml:"name,attr"`
			// The identifier's name space differs between the two variants
			// of the format; the attribute's local name does not.
			Attrs []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	if err := p.decode(part, &book); err != nil {
		return err
	}
	d := book.Properties.Date1904
	p.date1904 = d == "1" || strings.EqualFold(d, "true") || strings.EqualFold(d, "on")
	rels, err := p.relationships(part)
	if err != nil {
		return err
	}
	byID := make(map[string]relationship, len(rels))
	for _, r := range rels {
		byID[r.ID] = r
		if strings.HasSuffix(r.Type, "/sharedStrings") {
			p.strings = r.Target
		}
	}
	for _, s := range book.Sheets {
		for _, a := range s.Attrs {
			r, ok := byID[a.Value]
			if a.Name.Local == "id" && ok && strings.HasSuffix(r.Type, "/worksheet") {
				p.sheets = append(p.sheets, sheetPart{s.Name, r.Target})
			}
		}
	}
	if len(p.sheets) == 0 {
		return errors.New("the workbook has no sheet of cells")
	}
	for i, s := range p.sheets {
		for _, other := range p.sheets[:i] {
			if strings.EqualFold(s.name, other.name) {
				return fmt.Errorf("two sheets are named %q", s.name)
			}
		}
	}
	return nil
}

// relationships reads the .rels part of a part ("" is the archive itself).
// Targets come back as names of parts.
func (p *workbookPackage) relationships(part string) ([]relationship, error) {
	dir, base := path.Split(part)
	name := dir + "_rels/" + base + ".rels"
	if _, ok := p.names[name]; !ok {
		return nil, nil
	}
	var doc struct {
		List []relationship `xml:"Relationship"`
	}
	if err := p.decode(name, &doc); err != nil {
		return nil, err
	}
	for i := range doc.List {
		r := &doc.List[i]
		if r.Mode == "External" {
			continue
		}
		if strings.HasPrefix(r.Target, "/") {
			r.Target = strings.TrimPrefix(path.Clean(r.Target), "/")
		} else {
			r.Target = path.Join(dir, r.Target)
		}
	}
	return doc.List, nil
}

// decode reads a small part.
func (p *workbookPackage) decode(name string, into any) error {
	r, size, err := p.open(name)
	if err != nil {
		return err
	}
	defer r.Close()
	if size > maxIndexPart {
		return fmt.Errorf("part %q has %d bytes, more than expected of an index", name, size)
	}
	if err := xml.NewDecoder(io.LimitReader(r, maxIndexPart)).Decode(into); err != nil {
		return fmt.Errorf("part %q: %w", name, err)
	}
	return nil
}

// open opens a part and gives its size.
func (p *workbookPackage) open(name string) (io.ReadCloser, int64, error) {
	f, ok := p.names[name]
	if !ok {
		return nil, 0, fmt.Errorf("the archive lacks part %q", name)
	}
	r, err := f.Open()
	if err != nil {
		return nil, 0, fmt.Errorf("part %q: %w", name, err)
	}
	return r, int64(f.UncompressedSize64), nil
}
