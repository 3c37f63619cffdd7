package dataset

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf16"
)

// maxSheetName is the length of a sheet's name, in UTF-16 units.
const maxSheetName = 31

// sheetNames makes names that a workbook accepts and that differ when letters
// are compared without case.
func sheetNames(names []string) []string {
	taken := make(map[string]bool, len(names))
	legal := make([]string, len(names))
	for i, name := range names {
		legal[i] = uniqueSheetName(name, taken)
	}
	return legal
}

// uniqueSheetName makes one name legal and different from those taken, and
// takes it. A name that is legal and free stays as it is.
func uniqueSheetName(name string, taken map[string]bool) string {
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`:\/?*[]`, r) || unicode.IsControl(r) || r == unicode.ReplacementChar {
			return '_'
		}
		return r
	}, strings.ToValidUTF8(name, "_"))
	name = cutUTF16(strings.Trim(name, "' "), maxSheetName)
	name = strings.Trim(name, "' ")
	if name == "" {
		name = "Sheet"
	}
	if strings.EqualFold(name, "History") { // a name that spreadsheet programs keep for themselves
		name += "_"
	}
	candidate := name
	for n := 2; taken[strings.ToLower(candidate)]; n++ {
		suffix := " (" + strconv.Itoa(n) + ")"
		candidate = strings.TrimRight(cutUTF16(name, maxSheetName-len(suffix)), " ") + suffix
	}
	taken[strings.ToLower(candidate)] = true
	return candidate
}

// cutUTF16 shortens a text to n UTF-16 units, without splitting a rune.
func cutUTF16(s string, n int) string {
	units := 0
	for i, r := range s {
		if units += max(utf16.RuneLen(r), 1); units > n {
			return s[:i]
		}
	}
	return s
}
