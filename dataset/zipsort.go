package dataset

import (
	"archive/zip"
	"bytes"
	"io"
	"strings"
)

// maxTypesBytes is how much of an archive's small parts is looked at.
const maxTypesBytes = 1 << 20

// zipSort says what a zip archive is that is not a workbook in xlsx format
// without macros, and what to do; "" where it is one, or is damaged, which its
// reader will say.
func zipSort(data []byte) string {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return ""
	}
	names := make(map[string]*zip.File, len(z.File))
	under := func(folder string) bool {
		for name := range names {
			if strings.HasPrefix(name, folder) {
				return true
			}
		}
		return false
	}
	for _, f := range z.File {
		name := strings.ToLower(strings.TrimPrefix(f.Name, "/"))
		if names[name] == nil {
			names[name] = f
		}
	}
	mime := zipText(names["mimetype"])
	types := strings.ToLower(zipText(names["[content_types].xml"]))
	switch {
	case strings.HasPrefix(mime, "application/vnd.oasis.opendocument.spreadsheet"):
		return "an OpenDocument spreadsheet (.ods); open it in a spreadsheet program and save it as .xlsx"
	case strings.HasPrefix(mime, "application/vnd.oasis.opendocument"):
		return "an OpenDocument file that is no spreadsheet; ask for the table as .xlsx or .csv"
	case under("index/") || names["index.zip"] != nil:
		return "a spreadsheet of a tablet or desktop program (.numbers); export it as .xlsx"
	case strings.Contains(types, "sheet.binary.") || names["xl/workbook.bin"] != nil:
		return "a binary workbook (.xlsb); save it as .xlsx"
	case strings.Contains(types, "macroenabled") || names["xl/vbaproject.bin"] != nil:
		return "a workbook with macros, which is not read; save it as .xlsx without them"
	case strings.Contains(types, "wordprocessingml") && !strings.Contains(types, "spreadsheetml"):
		return "a text document; ask for the table as .xlsx or .csv"
	case strings.Contains(types, "presentationml.presentation") || strings.Contains(types, "presentationml.slide"):
		return "a presentation; ask for the table as .xlsx or .csv"
	case types == "" && !under("xl/"):
		return "an archive (zip) with no workbook in it; unpack it"
	}
	return ""
}

// zipText reads a small part, or gives "".
func zipText(f *zip.File) string {
	if f == nil {
		return ""
	}
	r, err := f.Open()
	if err != nil {
		return ""
	}
	defer r.Close()
	text, err := io.ReadAll(io.LimitReader(r, maxTypesBytes))
	if err != nil {
		return ""
	}
	return string(text)
}
