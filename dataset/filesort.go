package dataset

import (
	"bytes"
	"path"
	"slices"
	"strings"
)

// A fileSort is a format that can be read.
type fileSort uint8

const (
	textFile fileSort = iota
	workbookFile
)

// signatures are the first bytes of files that are no tables, or none that is
// read, with the words for them.
var signatures = []struct{ begin, what string }{
	{"%PDF-", "a PDF document; ask for the table as .xlsx or .csv"},
	{"\x1f\x8b", "a compressed file (gzip); unpack it"},
	{"BZh91AY&SY", "a compressed file (bzip2); unpack it"},
	{"\xfd7zXZ\x00", "a compressed file (xz); unpack it"},
	{"7z\xbc\xaf\x27\x1c", "an archive (7z); unpack it"},
	{"Rar!\x1a\x07", "an archive (rar); unpack it"},
	{"\x89PNG\r\n\x1a\n", "a picture (PNG); ask for the table as .xlsx or .csv"},
	{"\xff\xd8\xff", "a picture (JPEG); ask for the table as .xlsx or .csv"},
	{"GIF87a", "a picture (GIF); ask for the table as .xlsx or .csv"},
	{"GIF89a", "a picture (GIF); ask for the table as .xlsx or .csv"},
	{"II*\x00", "a picture (TIFF); ask for the table as .xlsx or .csv"},
	{"MM\x00*", "a picture (TIFF); ask for the table as .xlsx or .csv"},
	{"{\\rtf", "a text document (RTF); ask for the table as .xlsx or .csv"},
	{"SQLite format 3\x00", "a database; write the table out as .csv"},
}

// macroEndings are those of workbooks with macros.
var macroEndings = []string{".xlsm", ".xltm", ".xlam"}

// sortOf decides from first bytes and ending how a file is read, and refuses
// what cannot be read with one sentence that says what to do. What the file is
// goes before what it is called.
func sortOf(name string, data []byte) (fileSort, error) {
	where := Origin{File: name}
	ext := strings.ToLower(path.Ext(name))
	text := usualDelimiter(name) != 0
	if len(data) == 0 {
		if text {
			return 0, refuse(where, "the file is empty, expected the names of the columns")
		}
		return 0, refuse(where, "the file is empty")
	}
	for _, s := range signatures {
		if bytes.HasPrefix(data, []byte(s.begin)) {
			return 0, refuse(where, "%s", s.what)
		}
	}
	if what := compoundSort(data); what != "" {
		return 0, refuse(where, "%s", what)
	}
	if bytes.HasPrefix(data, []byte("PK\x03\x04")) || bytes.HasPrefix(data, []byte("PK\x05\x06")) {
		what := zipSort(data)
		switch {
		case what != "":
			return 0, refuse(where, "%s", what)
		case text:
			return 0, refuse(where, "a workbook under the name of a text file; give it the ending .xlsx")
		case ext == ".xlsx":
			return workbookFile, nil
		case slices.Contains(macroEndings, ext):
			return 0, refuse(where, "workbooks with macros are not read; save it as .xlsx")
		}
		return 0, refuse(where, "a workbook under the ending %s, and files in %s format are not read; give it the ending .xlsx", ext, ext)
	}
	if what := markupSort(data); what != "" {
		return 0, refuse(where, "%s", what)
	}
	if text {
		return textFile, nil
	}
	switch ext {
	case ".xlsx", ".xls", ".xlsb", ".xlsm", ".xltm", ".xlam", ".ods", ".numbers":
		if looksText(data) {
			return 0, refuse(where, "a text file and not a workbook; give it the ending .csv")
		}
	}
	if slices.Contains(macroEndings, ext) {
		return 0, refuse(where, "workbooks with macros are not read; save it as .xlsx")
	}
	switch ext {
	case ".xlsx":
		return 0, refuse(where, "not a workbook in xlsx format; save it again as .xlsx")
	case ".xls", ".xlsb":
		return 0, refuse(where, "workbooks in %s format are not read; save it as .xlsx", ext)
	case ".ods", ".fods", ".numbers":
		return 0, refuse(where, "spreadsheets in %s format are not read; save it as .xlsx", ext)
	}
	return 0, refuse(where, "file ending %q, expected .xlsx, .csv, .tsv, .tab or .txt", ext)
}

// markupSort tells web pages and the markup of older spreadsheets, which some
// programs name .xls or .csv, or gives "".
func markupSort(data []byte) string {
	head := data[:min(len(data), 4096)]
	if bytes.HasPrefix(head, []byte{0xff, 0xfe}) || bytes.HasPrefix(head, []byte{0xfe, 0xff}) {
		head = bytes.ReplaceAll(head[2:], []byte{0}, nil)
	}
	head = bytes.ToLower(bytes.TrimSpace(bytes.TrimPrefix(head, []byte("\ufeff"))))
	if len(head) == 0 || head[0] != '<' {
		return ""
	}
	begins := func(words ...string) bool {
		return slices.ContainsFunc(words, func(w string) bool { return bytes.HasPrefix(head, []byte(w)) })
	}
	switch {
	case bytes.Contains(head, []byte("urn:schemas-microsoft-com:office:spreadsheet")):
		return "a spreadsheet in the XML format of 2003; open it in a spreadsheet program and save it as .xlsx"
	case bytes.Contains(head, []byte("urn:oasis:names:tc:opendocument")):
		return "an OpenDocument spreadsheet; open it in a spreadsheet program and save it as .xlsx"
	case begins("<!doctype html", "<html", "<head", "<body", "<table", "<meta", "<style") || bytes.Contains(head, []byte("<html")):
		return "a web page and not a table; open it in a spreadsheet program and save it as .xlsx"
	case begins("<?xml"):
		return "an XML document and not a table; ask for the table as .xlsx or .csv"
	}
	return ""
}

// looksText reports whether a file begins like a text.
func looksText(data []byte) bool {
	head := data[:min(len(data), 4096)]
	if bytes.HasPrefix(head, []byte{0xff, 0xfe}) || bytes.HasPrefix(head, []byte{0xfe, 0xff}) {
		return true
	}
	return !bytes.ContainsFunc(head, func(r rune) bool { return r < ' ' && r != '\t' && r != '\n' && r != '\r' })
}
