package ooxml

import (
	"errors"
	"io"
	"strings"
)

// A Visibility says whether a sheet is shown.
type Visibility uint8

// A hidden sheet can be shown from the menu, a very hidden one by a program
// alone.
const (
	Visible Visibility = iota
	Hidden
	VeryHidden
)

// A Sheet is a sheet of cells of a workbook. Charts and dialogs are left out.
type Sheet struct {
	Name       string
	Visibility Visibility
	Part       string // name of the part that holds its cells
	Bytes      int64  // size of that part, unpacked
}

// A Book is a workbook opened for reading. It is not for use by several
// goroutines at once.
type Book struct {
	Sheets   []Sheet
	Date1904 bool   // days count from 1904-01-01, and not from 1900
	Main     string // name of the workbook's own part

	archive *archive
	strings string   // name of the part of shared texts, or ""
	shared  *texts   // nil until they are needed
	formats []Format // of each style of a cell
}

// Open reads the archive's directory, the list of sheets and the styles of a
// workbook that is held in memory. Sheets and shared texts are read when they
// are asked for.
func Open(data []byte) (*Book, error) {
	a, err := openArchive(data)
	if err != nil {
		return nil, err
	}
	b := &Book{archive: a}
	if b.Main, err = a.mainPart(); err != nil {
		return nil, err
	}
	rels, err := a.relationships(b.Main)
	if err != nil {
		return nil, err
	}
	styles := ""
	for _, r := range rels {
		part := map[bool]*string{r.Is("sharedStrings"): &b.strings, r.Is("styles"): &styles}[true]
		if part == nil {
			continue
		}
		if r.External {
			return nil, external(r)
		}
		if *part != "" && *part != r.Target {
			return nil, refuse("the workbook names two parts, %s and %s, for the same purpose", quote(*part), quote(r.Target))
		}
		*part = r.Target
	}
	if err := b.readSheets(rels); err != nil {
		return nil, err
	}
	if styles != "" && a.files[fold(styles)] != nil {
		if b.formats, err = a.formats(styles); err != nil {
			return nil, err
		}
	}
	return b, nil
}

// external refuses a part that lies elsewhere.
func external(r Relationship) error {
	return refuse("the workbook keeps a part of itself outside of the file, at %s; it is not fetched", quote(r.Target))
}

// mainPart finds the workbook part through the archive's own relationships.
func (a *archive) mainPart() (string, error) {
	rels, err := a.relationships("")
	if err != nil {
		return "", err
	}
	main := ""
	for _, r := range rels {
		if !r.Is("officeDocument") {
			continue
		}
		if r.External {
			return "", external(r)
		}
		if main != "" && main != r.Target {
			return "", refuse("the archive names two workbooks, %s and %s", quote(main), quote(r.Target))
		}
		main = r.Target
	}
	if main != "" {
		return main, nil
	}
	if _, ok := a.files["mimetype"]; ok {
		return "", refuse("an OpenDocument spreadsheet; save it as .xlsx")
	}
	if _, ok := a.files["encryptedpackage"]; ok {
		return "", refuse("the workbook is encrypted; save it without a password")
	}
	return "", refuse("the archive holds no workbook")
}

// readSheets lists the sheets in their order.
func (b *Book) readSheets(rels []Relationship) error {
	byID := make(map[string]Relationship, len(rels))
	for _, r := range rels {
		if _, twice := byID[r.ID]; twice {
			return refuse("two relationships of the workbook are named %s", quote(r.ID))
		}
		byID[r.ID] = r
	}
	names := make(map[string]bool)
	root := ""
	err := b.archive.read(b.Main, maxIndexBytes, mainSpace, func(s *scanner) error {
		for {
			t, err := s.next()
			if err != nil || t == endOfPart {
				return err
			}
			if t != startTag || !s.ours {
				continue
			}
			switch depth := s.depth(); {
			case depth == 1:
				root = string(s.local)
			case depth == 2 && string(s.local) == "workbookPr":
				b.Date1904 = isTrue(s.attribute("date1904"))
			case depth == 3 && string(s.local) == "sheet":
				if err := b.addSheet(s, byID, names); err != nil {
					return err
				}
			}
		}
	})
	switch {
	case err != nil:
		return err
	case root != "workbook":
		return refuse("the archive holds another document than a workbook")
	case len(b.Sheets) == 0:
		return refuse("the workbook has no sheet of cells")
	}
	return nil
}

// addSheet takes one line of the list of sheets.
func (b *Book) addSheet(s *scanner, byID map[string]Relationship, names map[string]bool) error {
	sheet := Sheet{Name: s.attribute("name")}
	switch s.attribute("state") {
	case "hidden":
		sheet.Visibility = Hidden
	case "veryHidden":
		sheet.Visibility = VeryHidden
	}
	for _, a := range s.attributes {
		// The identifier's name space differs between the two variants of the
		// format; the attribute's local name does not.
		if !strings.HasSuffix(string(a.name), ":id") {
			continue
		}
		id, err := s.value(a)
		if err != nil {
			return err
		}
		r, ok := byID[id]
		if !ok || !r.Is("worksheet") {
			continue
		}
		if r.External {
			return external(r)
		}
		sheet.Part = r.Target
	}
	name := strings.ToLower(sheet.Name)
	if names[name] {
		return refuse("two sheets are named %s", quote(sheet.Name))
	}
	names[name] = true
	if len(names) > maxSheets {
		return refuse("the workbook has more than %d sheets", maxSheets)
	}
	if sheet.Part == "" {
		return nil // a chart or a dialog
	}
	f, ok := b.archive.files[fold(sheet.Part)]
	if !ok {
		return &Error{Sheet: sheet.Name, Message: "the archive lacks part " + quote(sheet.Part)}
	}
	sheet.Bytes = int64(f.UncompressedSize64)
	b.Sheets = append(b.Sheets, sheet)
	return nil
}

// isTrue reads a boolean of the format.
func isTrue(text string) bool { return text == "1" || text == "true" || text == "on" }

// Parts lists the names of the archive's members, in its order.
func (b *Book) Parts() []string { return b.archive.names }

// Has reports whether the archive has a part of that name, in any case.
func (b *Book) Has(part string) bool { return b.archive.files[fold(part)] != nil }

// Relationships reads the list of relationships of a part.
func (b *Book) Relationships(part string) ([]Relationship, error) {
	return b.archive.relationships(part)
}

// ReadPart reads a small part whole, of at most 16 MiB.
func (b *Book) ReadPart(part string) ([]byte, error) {
	p, err := b.archive.open(part)
	if err != nil {
		return nil, err
	}
	if p.size > maxIndexBytes {
		return nil, errors.Join(refuse("part %s has %d bytes, more than expected", quote(part), p.size), p.Close())
	}
	data, err := io.ReadAll(p)
	return data, errors.Join(err, p.Close())
}
