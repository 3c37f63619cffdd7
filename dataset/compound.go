package dataset

import (
	"bytes"
	"encoding/binary"
	"unicode/utf16"
)

// compoundMark begins a compound file, the container of older office
// documents and of encrypted ones.
var compoundMark = []byte{0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1}

// An entry of a compound file's directory has 128 bytes: the name in UTF-16,
// at 64 the name's length in bytes with its closing zero, at 66 the sort.
const (
	entryBytes  = 128
	entryLength = 64
	entrySort   = 66
	entryStream = 2
	entryFolder = 1
)

// compoundSort says what a compound file or a workbook of the nineties is, and
// what to do; "" where it is neither.
func compoundSort(data []byte) string {
	for _, begin := range []string{"\x09\x08\x10\x00", "\x09\x08\x08\x00", "\x09\x04\x06\x00", "\x09\x02\x06\x00", "\x09\x00\x04\x00"} {
		if bytes.HasPrefix(data, []byte(begin)) {
			return "workbooks in the old .xls format are not read; save it as .xlsx"
		}
	}
	if !bytes.HasPrefix(data, compoundMark) {
		return ""
	}
	switch {
	case hasEntry(data, "EncryptedPackage"):
		return "the workbook is protected by a password; save it as .xlsx without one"
	case hasEntry(data, "Workbook"), hasEntry(data, "Book"):
		return "workbooks in the old .xls format are not read; save it as .xlsx"
	case hasEntry(data, "WordDocument"):
		return "an old text document (.doc); ask for the table as .xlsx or .csv"
	}
	return "an office document of the old sort; workbooks in .xls format are not read: save it as .xlsx without a password"
}

// hasEntry looks for a stream or folder of that name. Entries of the directory
// stand at multiples of their size wherever its sectors lie, so that a damaged
// or hostile chain of sectors need not be followed.
func hasEntry(data []byte, name string) bool {
	var want []byte
	for _, u := range utf16.Encode([]rune(name)) {
		want = binary.LittleEndian.AppendUint16(want, u)
	}
	want = append(want, 0, 0)
	for at := 512; at+entryBytes <= len(data); at += entryBytes {
		e := data[at : at+entryBytes]
		if bytes.HasPrefix(e, want) && int(binary.LittleEndian.Uint16(e[entryLength:])) == len(want) &&
			(e[entrySort] == entryStream || e[entrySort] == entryFolder) {
			return true
		}
	}
	return false
}
