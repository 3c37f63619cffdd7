package dataset

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"path"
	"strings"
)

// strictNames are the name spaces and relationships of the format's strict
// variant, with those of the common one. Longer names stand before those that
// they begin with.
var strictNames = strings.NewReplacer(
	"http://purl.oclc.org/ooxml/officeDocument/relationships/extendedProperties", "http://schemas.openxmlformats.org/officeDocument/2006/relationships/extended-properties",
	"http://purl.oclc.org/ooxml/officeDocument/relationships/customProperties", "http://schemas.openxmlformats.org/officeDocument/2006/relationships/custom-properties",
	"http://purl.oclc.org/ooxml/officeDocument/relationships", "http://schemas.openxmlformats.org/officeDocument/2006/relationships",
	"http://purl.oclc.org/ooxml/officeDocument/extendedProperties", "http://schemas.openxmlformats.org/officeDocument/2006/extended-properties",
	"http://purl.oclc.org/ooxml/officeDocument/customProperties", "http://schemas.openxmlformats.org/officeDocument/2006/custom-properties",
	"http://purl.oclc.org/ooxml/officeDocument/", "http://schemas.openxmlformats.org/officeDocument/2006/",
	"http://purl.oclc.org/ooxml/spreadsheetml/", "http://schemas.openxmlformats.org/spreadsheetml/2006/",
	"http://purl.oclc.org/ooxml/drawingml/", "http://schemas.openxmlformats.org/drawingml/2006/",
	` conformance="strict"`, "",
)

// commonVariant gives a workbook of the strict variant in the common one: the
// names of its elements change, and nothing in its cells. Excelize, which adds
// the marks, would leave out the name space of the sheets' list and with it
// every sheet. Sizes of parts were checked when the workbook was read.
func commonVariant(data []byte) ([]byte, error) {
	in, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	root, err := zippedPart(in, "_rels/.rels")
	if err != nil || !bytes.Contains(root, []byte("http://purl.oclc.org/ooxml/")) {
		return data, nil
	}
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range in.File {
		ext := strings.ToLower(path.Ext(f.Name))
		if ext != ".xml" && ext != ".rels" {
			if err := z.Copy(f); err != nil {
				return nil, err
			}
			continue
		}
		part, err := zippedPart(in, f.Name)
		if err != nil {
			return nil, fmt.Errorf("part %q: %w", f.Name, err)
		}
		if err := writePart(z, f.Name, renameInTags(part)); err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// zippedPart reads a part of an archive.
func zippedPart(z *zip.Reader, name string) ([]byte, error) {
	f, err := z.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(f)
}

// renameInTags replaces the strict names inside of tags; texts stay, even if
// they look like one.
func renameInTags(data []byte) []byte {
	var out bytes.Buffer
	for len(data) > 0 {
		begin := bytes.IndexByte(data, '<')
		if begin < 0 {
			break
		}
		out.Write(data[:begin])
		data = data[begin:]
		n := tagLength(data)
		if bytes.HasPrefix(data, []byte("<!")) {
			out.Write(data[:n])
		} else {
			out.WriteString(strictNames.Replace(string(data[:n])))
		}
		data = data[n:]
	}
	out.Write(data)
	return out.Bytes()
}

// tagLength is the length of the tag, comment or raw text that data begins
// with.
func tagLength(data []byte) int {
	for _, c := range []struct{ begin, end string }{{"<!--", "-->"}, {"<![CDATA[", "]]>"}} {
		if bytes.HasPrefix(data, []byte(c.begin)) {
			if i := bytes.Index(data, []byte(c.end)); i >= 0 {
				return i + len(c.end)
			}
			return len(data)
		}
	}
	quote := byte(0)
	for i, c := range data {
		switch {
		case quote != 0:
			if c == quote {
				quote = 0
			}
		case c == '"' || c == '\'':
			quote = c
		case c == '>':
			return i + 1
		}
	}
	return len(data)
}
