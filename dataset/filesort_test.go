package dataset

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// kind is a file that a spreadsheet program saved (testdata/kinds/make.sh).
func kind(t *testing.T, ext string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", "kinds", "children"+ext))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// compound makes a compound file with one stream of that name in its directory.
func compound(stream string) []byte {
	data := append(bytes.Clone(compoundMark), make([]byte, 1024-8)...)
	entry := data[512+128:]
	for i, c := range []byte(stream) {
		entry[2*i] = c
	}
	entry[64], entry[66] = byte(2*len(stream)+2), 2
	return data
}

// What a file is goes before what it is called: each of these is refused under
// every name with the same sentence.
func TestFileSorts(t *testing.T) {
	good := book(t, map[string][][]any{"data": {{"id", "age", "limp", "seen"}, {"a", 1, true, nil}}})
	macro := strings.Replace("<Types>main</Types>", "main", "application/vnd.ms-excel.sheet.macroEnabled.main+xml", 1)
	var locked bytes.Buffer
	f := excelize.NewFile()
	defer f.Close()
	if err := f.Write(&locked, excelize.Options{Password: "x"}); err != nil {
		t.Fatal(err)
	}
	types := [2]string{"[Content_Types].xml", "<Types/>"}
	for name, c := range map[string]struct {
		data  []byte
		words string
	}{
		"OpenDocument":         {kind(t, ".ods"), "OpenDocument spreadsheet (.ods)"},
		"OpenDocument text":    {zipped(t, [][2]string{{"mimetype", "application/vnd.oasis.opendocument.text"}}), "no spreadsheet"},
		"old workbook":         {kind(t, ".xls"), "old .xls format"},
		"workbook of 1995":     {compound("Book"), "old .xls format"},
		"workbook of 1992":     {[]byte("\x09\x04\x06\x00\x00\x00\x10\x00"), "old .xls format"},
		"XML of 2003":          {kind(t, ".xml"), "XML format of 2003"},
		"web page":             {kind(t, ".html"), "a web page"},
		"table of a web page":  {[]byte("\ufeff\r\n<table border=1><tr><td>id</td></tr></table>"), "a web page"},
		"web page in UTF-16":   {[]byte("\xff\xfe<\x00H\x00T\x00M\x00L\x00>\x00"), "a web page"},
		"other XML":            {[]byte(`<?xml version="1.0"?><a/>`), "an XML document"},
		"password":             {locked.Bytes(), "protected by a password"},
		"password, by hand":    {compound("EncryptedPackage"), "protected by a password"},
		"old text document":    {compound("WordDocument"), "old text document"},
		"other compound":       {compound("PowerPoint Document"), "office document of the old sort"},
		"only the mark":        {compoundMark, "office document of the old sort"},
		"binary workbook":      {zipped(t, [][2]string{types, {"xl/workbook.bin", ""}}), "binary workbook (.xlsb)"},
		"macros by type":       {zipped(t, [][2]string{{"[Content_Types].xml", macro}, {"xl/workbook.xml", ""}}), "a workbook with macros"},
		"macros by part":       {zipped(t, [][2]string{types, {"xl/workbook.xml", ""}, {"xl/vbaProject.bin", ""}}), "a workbook with macros"},
		"numbers":              {zipped(t, [][2]string{{"Index/Document.iwa", ""}}), "(.numbers)"},
		"text document":        {zipped(t, [][2]string{{"[Content_Types].xml", "<a>application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml</a>"}}), "a text document"},
		"presentation":         {zipped(t, [][2]string{{"[Content_Types].xml", "application/vnd.openxmlformats-officedocument.presentationml.presentation.main+xml"}}), "a presentation"},
		"archive":              {zipped(t, [][2]string{{"data.csv", "id\n"}}), "an archive (zip)"},
		"empty archive":        {zipped(t, nil), "an archive (zip)"},
		"gzip":                 {[]byte("\x1f\x8b\x08\x00"), "(gzip); unpack it"},
		"PDF":                  {[]byte("%PDF-1.7\n"), "a PDF document"},
		"PNG":                  {[]byte("\x89PNG\r\n\x1a\n"), "a picture (PNG)"},
		"JPEG":                 {[]byte("\xff\xd8\xff\xe0"), "a picture (JPEG)"},
		"rich text":            {[]byte(`{\rtf1 x}`), "a text document (RTF)"},
		"nothing":              {nil, "the file is empty"},
		"workbook by its name": {[]byte("id,age\n"), ""}, // of .xlsx and the like alone
	} {
		for _, ext := range []string{".csv", ".tsv", ".txt", ".xlsx", ".xls", ".XLSX", ".ods", ".xlsm", ".dat"} {
			sort, err := sortOf("data"+ext, c.data)
			if c.words == "" {
				if text := strings.HasPrefix(ext, ".csv") || ext == ".tsv" || ext == ".txt"; text != (err == nil && sort == textFile) {
					t.Errorf("%s as %s: %v", name, ext, err)
				}
				continue
			}
			if err == nil || !strings.Contains(err.Error(), c.words) || !strings.HasPrefix(err.Error(), "data"+ext+": ") {
				t.Errorf("%s as %s: error %v, want %q", name, ext, err, c.words)
			}
		}
	}
	for ext, words := range map[string]string{
		".xlsx": "", ".XLSX": "", ".csv": "under the name of a text file; give it the ending .xlsx", ".xls": "give it the ending .xlsx",
		".ods": "give it the ending .xlsx", ".xlsm": "macros", ".dat": "give it the ending .xlsx",
	} {
		sort, err := sortOf("data"+ext, good)
		if words == "" && (err != nil || sort != workbookFile) || words != "" && (err == nil || !strings.Contains(err.Error(), words)) {
			t.Errorf("a workbook as %s: %v, want %q", ext, err, words)
		}
	}
	// Texts whose first letters are those of something else.
	for _, s := range []string{"PK,age\n", "BZh,x\n", "II,MM\n", "GIF,x\n", "id;<html\n", "<5 kg;x\n"} {
		if sort, err := sortOf("a.csv", []byte(s)); err != nil || sort != textFile {
			t.Errorf("%q: %v", s, err)
		}
	}
}

// The entry of a stream is looked for, not its name anywhere.
func TestHasEntry(t *testing.T) {
	data := compound("Workbook")
	if !hasEntry(data, "Workbook") || hasEntry(data, "Book") || hasEntry(data, "EncryptedPackage") {
		t.Error("entries of a made file")
	}
	// A cell's text that names the stream.
	text := append(kind(t, ".xls"), []byte("xE\x00n\x00c\x00r\x00y\x00p\x00t\x00e\x00d\x00P\x00a\x00c\x00k\x00a\x00g\x00e\x00\x00\x00")...)
	if hasEntry(text, "EncryptedPackage") {
		t.Error("a text was taken for an entry")
	}
	for n := range len(data) {
		_ = compoundSort(data[:n])
	}
}

func FuzzSortOf(f *testing.F) {
	for _, ext := range []string{".ods", ".xls", ".xml", ".html", ".csv"} {
		data, err := os.ReadFile(filepath.Join("testdata", "kinds", "children"+ext))
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, "a"+ext)
	}
	f.Add(compound("EncryptedPackage"), "a.xlsx")
	f.Fuzz(func(_ *testing.T, data []byte, name string) { _, _ = sortOf(name, data) })
}
