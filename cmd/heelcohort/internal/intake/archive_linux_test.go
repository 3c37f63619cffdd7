package intake

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/binary"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sheetPart is the part of the cells in the workbooks made here.
const sheetPart = "xl/worksheets/sheet1.xml"

// A member is a part of an archive: its text, or packed bytes with the size
// that the archive claims for them.
type member struct {
	name   string
	text   string
	packed []byte
	claims uint64
}

// members are the parts of the plain workbook, whose sheet holds inline texts.
func members(t testing.TB) []member {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(folder, "files", "style-unknown.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var list []member
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, member{name: f.Name, text: string(text)})
	}
	return list
}

// with replaces the part of a name, or adds it.
func with(list []member, m member) []member {
	for i := range list {
		if list[i].name == m.name {
			list[i] = m
			return list
		}
	}
	return append(list, m)
}

// edited is the text of a part with replacements made.
func edited(list []member, name string, oldnew ...string) member {
	for _, m := range list {
		if m.name == name {
			return member{name: name, text: strings.NewReplacer(oldnew...).Replace(m.text)}
		}
	}
	panic("no part " + name)
}

// archive writes an archive. Claims of packed members may be false.
func archive(t testing.TB, list []member) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, m := range list {
		var w io.Writer
		var err error
		data := []byte(m.text)
		if m.packed != nil {
			data = m.packed
			w, err = z.CreateRaw(&zip.FileHeader{Name: m.name, Method: zip.Deflate, CompressedSize64: uint64(len(data)), UncompressedSize64: m.claims})
		} else {
			w, err = z.Create(m.name)
		}
		if err == nil {
			_, err = w.Write(data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// repeated packs before, n times block, and after, without unpacking it ever:
// a packed block that refers to nothing outside of itself can stand anywhere.
func repeated(t testing.TB, name, before, block string, n int, after string) member {
	t.Helper()
	pack := func(text string, last bool) []byte {
		var b bytes.Buffer
		w, err := flate.NewWriter(&b, flate.BestCompression)
		if err == nil {
			_, err = w.Write([]byte(text))
		}
		if err == nil && last {
			err = w.Close()
		} else if err == nil {
			err = w.Flush()
		}
		if err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	packed := pack(before, false)
	packed = append(packed, bytes.Repeat(pack(block, false), n)...)
	packed = append(packed, pack(after, true)...)
	return member{name: name, packed: packed, claims: uint64(len(before) + n*len(block) + len(after))}
}

// aroundCells cuts the plain sheet into what stands before the last row's end
// and the rest.
func aroundCells(t testing.TB, at string) (before, after string) {
	t.Helper()
	sheet := edited(members(t), sheetPart).text
	before, after, ok := strings.Cut(sheet, at)
	if !ok {
		t.Fatalf("no %s in the sheet", at)
	}
	return before, at + after
}

// overlapping makes an archive whose n further members all lie on the bytes of
// its first one.
func overlapping(t testing.TB, list []member, n int) []byte {
	t.Helper()
	data := archive(t, list)
	const recordSize = 46 // of a member in the directory, without its name
	end := bytes.LastIndex(data, []byte("PK\x05\x06"))
	start := int(binary.LittleEndian.Uint32(data[end+16:]))
	first := data[start : start+recordSize+int(binary.LittleEndian.Uint16(data[start+28:]))]
	var more []byte
	for i := range n {
		record := bytes.Clone(first)
		name := record[recordSize:]
		copy(name, []byte("z"+string(rune('a'+i%26))+string(rune('a'+i/26%26))+string(rune('a'+i/676))))
		more = append(more, record...)
	}
	tail := bytes.Clone(data[end:])
	count := binary.LittleEndian.Uint16(tail[10:]) + uint16(n)
	binary.LittleEndian.PutUint16(tail[8:], count)
	binary.LittleEndian.PutUint16(tail[10:], count)
	binary.LittleEndian.PutUint32(tail[12:], uint32(end-start+len(more)))
	return append(append(bytes.Clone(data[:end]), more...), tail...)
}
