package document

import (
	"bytes"
	"encoding/json"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Parse reads one YAML or JSON document. A file named *.json is JSON; any
// other is JSON if the whole of it is, and YAML otherwise. Every error is an
// *Error. The name of the file is only used for that and for messages.
func Parse(file string, data []byte) (*Node, error) {
	if len(data) > MaxSize {
		return nil, &Error{Position: Position{File: file}, Message: fmt.Sprintf("larger than %d MB", MaxSize>>20)}
	}
	if bytes.HasPrefix(data, []byte{0xFF, 0xFE}) || bytes.HasPrefix(data, []byte{0xFE, 0xFF}) {
		return nil, &Error{Position: Position{File: file, Line: 1, Column: 1}, Message: "the text is UTF-16, expected UTF-8"}
	}
	s := newSource(file, clean(data))
	if err := s.check(); err != nil {
		return nil, err
	}
	if strings.EqualFold(filepath.Ext(file), ".json") || startsJSON(s.data) && json.Valid(s.data) {
		return parseJSON(s)
	}
	return parseYAML(s)
}

// clean drops the byte order mark and the carriage returns of line ends.
func clean(data []byte) []byte {
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	return bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
}

func startsJSON(data []byte) bool {
	data = bytes.TrimLeft(data, " \t\n")
	return len(data) > 0 && (data[0] == '{' || data[0] == '[')
}

// check refuses what is no text.
func (s *source) check() error {
	empty := true
	for i := 0; i < len(s.data); {
		c := s.data[i]
		switch {
		case c == '\r':
			return s.fault(i, "carriage return without line feed")
		case c < ' ' && c != '\t' && c != '\n' || c == 0x7F:
			return s.fault(i, "control character %#02x", c)
		case c < utf8.RuneSelf:
			empty = empty && (c == ' ' || c == '\t' || c == '\n')
			i++
			continue
		}
		r, size := utf8.DecodeRune(s.data[i:])
		switch {
		case r == utf8.RuneError && size == 1:
			return s.fault(i, "byte %#02x is not UTF-8", c)
		case r >= 0x80 && r < 0xA0 || r == '\u2028' || r == '\u2029' || r == '\uFEFF' || r >= 0xFFFE && r <= 0xFFFF:
			return s.fault(i, "control character U+%04X", r)
		}
		empty = false
		i += size
	}
	if empty {
		return s.fault(0, "the document is empty")
	}
	return nil
}

// quote shows a found text, cut where it is long.
func quote(text string) string {
	const longest = 60
	if runes := []rune(text); len(runes) > longest {
		text = string(runes[:longest-1]) + "…"
	}
	return strconv.Quote(text)
}
