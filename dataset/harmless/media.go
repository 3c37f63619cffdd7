package harmless

import (
	"bytes"
	"fmt"
	"unicode/utf8"
)

// Sheet writes a text for a cell of a workbook, which must be stored as a text
// and, where Formula holds of it, with the style that keeps it one when it is
// edited.
func Sheet(text string) string { return Visible(text) }

// Page goes over a whole page or Markdown text, whose markup is escaped
// already.
func Page(page []byte) []byte { return []byte(Visible(string(page))) }

// JSON goes over a whole JSON text: characters that act can stand within its
// strings alone and are written as their escapes there, which read back as the
// same characters.
func JSON(text []byte) []byte {
	if bytes.IndexFunc(text, acts) < 0 {
		return text
	}
	var b bytes.Buffer
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRune(text[i:])
		if n > 1 && acts(r) || r == 0x7f {
			fmt.Fprintf(&b, `\u%04x`, r)
		} else {
			b.Write(text[i : i+n])
		}
		i += n
	}
	return b.Bytes()
}
