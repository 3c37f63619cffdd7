package document

import (
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

// A source is a file's text with the start of every line. A place in it is
// found in a time that does not depend on the length of its line.
type source struct {
	file  string
	data  []byte // without byte order mark and carriage returns
	lines []int  // byte at which each line begins
	steps []int  // characters between the line's begin and every stride-th byte
}

// stride is the distance of the bytes whose column is known.
const stride = 1024

func newSource(file string, data []byte) *source {
	s := &source{file: file, data: data, lines: []int{0}}
	count := 0
	for i, c := range data {
		if i%stride == 0 {
			s.steps = append(s.steps, count)
		}
		if c == '\n' {
			s.lines = append(s.lines, i+1)
			count = 0
		} else if utf8.RuneStart(c) {
			count++
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
	column, from := 1, s.lines[low]
	if k := (offset - 1) / stride; k*stride > from {
		column, from = s.steps[k]+1, k*stride
	}
	for _, c := range s.data[from:offset] {
		if utf8.RuneStart(c) {
			column++
		}
	}
	return Position{File: s.file, Line: low + 1, Column: column}
}

// offset is the byte at a line and column, at most the line's end.
func (s *source) offset(line, column int) int {
	if line < 1 || line > len(s.lines) {
		return len(s.data)
	}
	i, end := s.lines[line-1], s.end(line)
	skip := column - 1
	// The last known column within the line that is not behind the one wanted.
	low, high := (i+stride-1)/stride, (end+stride-1)/stride
	first := low
	for low < high {
		if mid := (low + high) / 2; s.steps[mid] <= skip {
			low = mid + 1
		} else {
			high = mid
		}
	}
	if k := low - 1; k >= first && k*stride > i {
		i, skip = k*stride, skip-s.steps[k]
	}
	for i < end && !utf8.RuneStart(s.data[i]) {
		i++
	}
	for ; skip > 0 && i < end; skip-- {
		_, n := utf8.DecodeRune(s.data[i:end])
		i += n
	}
	return i
}

// end is the byte behind the last of a line, from 1, its line end aside.
func (s *source) end(line int) int {
	if line < len(s.lines) {
		return s.lines[line] - 1
	}
	return len(s.data)
}

// line is the text of a line, from 1, without its end.
func (s *source) line(n int) []byte {
	if n < 1 || n > len(s.lines) {
		return nil
	}
	return s.data[s.lines[n-1]:s.end(n)]
}

// Widest part of a line that an excerpt shows, in characters.
const excerptWidth = 100

// excerpt is the line of p with a caret under its column.
func (s *source) excerpt(p Position) string {
	if s == nil || p.Line < 1 || p.Line > len(s.lines) {
		return ""
	}
	width := s.at(s.end(p.Line)).Column - 1
	caret := max(0, min(p.Column-1, width))
	left, right := 0, width
	if right > excerptWidth {
		left = max(0, min(caret-excerptWidth/2, right-excerptWidth))
		right = left + excerptWidth
	}
	text := []rune(strings.ToValidUTF8(string(s.data[s.offset(p.Line, left+1):s.offset(p.Line, right+1)]), "\uFFFD"))
	caret = min(caret-left, len(text))
	var b strings.Builder
	for _, r := range text {
		if r < ' ' && r != '\t' {
			r = '\uFFFD'
		}
		b.WriteRune(r)
	}
	b.WriteByte('\n')
	for _, r := range text[:caret] {
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
