package delimited

import (
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"
)

// A row is a record that may be kept.
type row struct {
	Line  int
	Cells []string
}

// readAll reads every record that has a character.
func readAll(data []byte, d Dialect, h Header) ([]row, Found, error) {
	r, err := NewReader(data, d, h)
	if err != nil {
		return nil, Found{}, err
	}
	var rows []row
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, r.Found(), nil
		}
		if err != nil {
			return rows, r.Found(), err
		}
		if len(record.Cells) > 0 {
			rows = append(rows, row{record.Line, slices.Clone(record.Cells)})
		}
	}
}

// write writes records; every cell that needs it stands in quotes, and those
// that always says so.
func write(rows [][]string, delimiter, quote byte, end string, always func() bool) string {
	var b strings.Builder
	for _, cells := range rows {
		for i, c := range cells {
			if i > 0 {
				b.WriteByte(delimiter)
			}
			q := string(rune(quote))
			if always() || strings.ContainsAny(c, q+string(rune(delimiter))+"\r\n") || c == "" && len(cells) == 1 {
				c = q + strings.ReplaceAll(strings.ReplaceAll(c, q, q+q), "\n", end) + q
			}
			b.WriteString(c)
		}
		b.WriteString(end)
	}
	return b.String()
}

// encode encodes a text; it reports false where the encoding lacks a
// character.
func encode(text, encoding string, mark bool) ([]byte, bool) {
	switch encoding {
	case "utf-8":
		if mark {
			text = "\ufeff" + text
		}
		return []byte(text), true
	case "utf-16le", "utf-16be":
		if mark {
			text = "\ufeff" + text
		}
		var out []byte
		for _, u := range utf16.Encode([]rune(text)) {
			if encoding == "utf-16le" {
				out = append(out, byte(u), byte(u>>8))
			} else {
				out = append(out, byte(u>>8), byte(u))
			}
		}
		return out, true
	}
	for _, p := range pages {
		if p.name != encoding {
			continue
		}
		var out []byte
		for _, r := range text {
			c, ok := p.page.EncodeRune(r)
			if !ok {
				return nil, false
			}
			out = append(out, c)
		}
		return out, true
	}
	return nil, false
}

func wantError(t *testing.T, err error, line, column int, words ...string) {
	t.Helper()
	var e *Error
	if !errors.As(err, &e) {
		t.Errorf("error %v, want line %d and %q", err, line, words)
		return
	}
	if e.Line != line || e.Column != column {
		t.Errorf("place %d, %d, want %d, %d: %v", e.Line, e.Column, line, column, err)
	}
	for _, w := range words {
		if !strings.Contains(e.Message, w) {
			t.Errorf("error %q, want it to hold %q", e.Message, w)
		}
	}
}
