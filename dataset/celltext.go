package dataset

import "strings"

// maxCellText is the length of a cell's text, in UTF-16 units.
const maxCellText = 32767

// cleanText makes a text that XML can hold: valid UTF-8 without control
// characters other than tab and line feed, cut at the length of a cell.
func cleanText(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "\ufffd"), "\r\n", "\n")
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return r
		case r < ' ' || r == 0xfffe || r == 0xffff:
			return '\ufffd'
		}
		return r
	}, s)
	return cutUTF16(s, maxCellText)
}

// storedText is cleanText as it is stored in a cell. There "_x0041_" stands
// for the letter A, so that an underscore before what looks like such a code
// is written as the code of the underscore.
func storedText(s string) string {
	s = cleanText(s)
	if !strings.Contains(s, "_x") {
		return s
	}
	var b strings.Builder
	for i := range len(s) {
		if isCharacterCode(s[i:]) {
			b.WriteString("_x005F")
		}
		b.WriteByte(s[i])
	}
	return b.String()
}

// isCharacterCode reports whether s begins with "_xHHHH_".
func isCharacterCode(s string) bool {
	if len(s) < 7 || s[0] != '_' || s[1] != 'x' || s[6] != '_' {
		return false
	}
	for _, c := range []byte(s[2:6]) {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') && (c < 'A' || c > 'F') {
			return false
		}
	}
	return true
}
