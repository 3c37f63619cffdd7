package document

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// A Position is a place in a file. Lines and columns count from 1, columns in
// characters. The zero Position is no place.
type Position struct {
	File         string
	Line, Column int
}

// String is file:line:column, without the parts that are not known.
func (p Position) String() string {
	if p.Line == 0 {
		return p.File
	}
	place := fmt.Sprintf("%d:%d", p.Line, p.Column)
	if p.File == "" {
		return place
	}
	return p.File + ":" + place
}

// before orders places as they stand in a file.
func (p Position) before(q Position) bool {
	if p.Line != q.Line {
		return p.Line < q.Line
	}
	return p.Column < q.Column
}

// A source is a file's text with the start of every line.
type source struct {
	file  string
	data  []byte // without byte order mark and carriage returns
	lines []int  // byte at which each line begins
}

func newSource(file string, data []byte) *source {
	s := &source{file: file, data: data, lines: []int{0}}
	for i, c := range data {
		if c == '\n' {
			s.lines = append(s.lines, i+1)
		}
	}
	return s
}

// at is the place of a byte.
func (s *source) at(offset int) Position {
	offset = max(0, min(offset, len(s.data)))
	low, high := 0, len(s.lines)
	for high-low > 1 {
		if mid := (low + high) / 2; s.lines[mid] <= offset {
			low = mid
		} else {
			high = mid
		}
	}
	column := utf8.RuneCount(s.data[s.lines[low]:offset]) + 1
	return Position{File: s.file, Line: low + 1, Column: column}
}

// offset is the byte at a line and column.
func (s *source) offset(line, column int) int {
	if line < 1 || line > len(s.lines) {
		return len(s.data)
	}
	i := s.lines[line-1]
	for ; column > 1 && i < len(s.data) && s.data[i] != '\n'; column-- {
		_, n := utf8.DecodeRune(s.data[i:])
		i += n
	}
	return i
}

// line is the text of a line, from 1, without its end.
func (s *source) line(n int) []byte {
	if n < 1 || n > len(s.lines) {
		return nil
	}
	text := s.data[s.lines[n-1]:]
	if end := bytes.IndexByte(text, '\n'); end >= 0 {
		text = text[:end]
	}
	return text
}

// Widest part of a line that an excerpt shows, in characters.
const excerptWidth = 100

// excerpt is the line of p with a caret under its column.
func (s *source) excerpt(p Position) string {
	if s == nil || p.Line < 1 || p.Line > len(s.lines) {
		return ""
	}
	text := []rune(strings.ToValidUTF8(string(s.line(p.Line)), "\uFFFD"))
	caret := max(0, min(p.Column-1, len(text)))
	left, right := 0, len(text)
	if right > excerptWidth {
		left = max(0, min(caret-excerptWidth/2, right-excerptWidth))
		right = left + excerptWidth
	}
	var b strings.Builder
	for _, r := range text[left:right] {
		if r < ' ' && r != '\t' {
			r = '\uFFFD'
		}
		b.WriteRune(r)
	}
	b.WriteByte('\n')
	for _, r := range text[left:caret] {
		if r != '\t' {
			r = ' '
		}
		b.WriteRune(r)
	}
	b.WriteByte('^')
	return b.String()
}

// Excerpt is the line of data at p with a caret under its column, for a fault
// found after reading. It is "" if data has no such line.
func Excerpt(data []byte, p Position) string {
	return newSource(p.File, clean(data)).excerpt(p)
}
