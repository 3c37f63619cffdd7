package dataset

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"path"
	"strings"
	"unicode/utf8"
)

// A csvSource reads a delimited text file that is held in memory.
type csvSource struct {
	file    string
	data    []byte // without the byte order mark
	reader  *csv.Reader
	from    int64 // where the next record, or an empty line before it, begins
	line    int   // line of from
	pending *rawRow
	cells   []rawCell
}

// delimiter is the separator that a file's name promises, or 0.
func delimiter(file string) rune {
	switch strings.ToLower(path.Ext(file)) {
	case ".csv":
		return ','
	case ".tsv":
		return '\t'
	}
	return 0
}

// newCSV checks the encoding and makes a source. Every refusal names the line.
func newCSV(file string, data []byte) (*csvSource, error) {
	where := Origin{File: file}
	if bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff}) {
		return nil, refuse(where, "the text is in UTF-16; save it as CSV UTF-8")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at := invalidUTF8(data); at >= 0 {
		where.Row = 1 + bytes.Count(data[:at], []byte{'\n'})
		return nil, refuse(where, "byte %#02x is not valid UTF-8; save the file as CSV UTF-8", data[at])
	}
	if at := bytes.IndexByte(data, 0); at >= 0 {
		where.Row = 1 + bytes.Count(data[:at], []byte{'\n'})
		return nil, refuse(where, "a zero byte; this is not a text file")
	}
	if bytes.IndexByte(data, '\n') < 0 && bytes.IndexByte(data, '\r') >= 0 {
		return nil, refuse(where, "lines end in carriage returns alone; save the file with line feeds")
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma = delimiter(file)
	r.FieldsPerRecord = -1
	r.ReuseRecord = true
	return &csvSource{file: file, data: data, reader: r, line: 1}, nil
}

// invalidUTF8 is the index of the first byte that is not UTF-8, or -1.
func invalidUTF8(data []byte) int {
	if utf8.Valid(data) {
		return -1
	}
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}

// next gives the next record. An empty line, which encoding/csv passes over,
// is given as a row without cells so that it is not lost.
func (s *csvSource) next() (rawRow, error) {
	if s.pending == nil {
		if err := s.read(); err != nil {
			return rawRow{}, err
		}
	}
	if s.line < s.pending.number { // an empty line comes first
		s.line++
		return rawRow{number: s.line - 1}, nil
	}
	row := *s.pending
	s.pending = nil
	end := s.reader.InputOffset()
	s.line += bytes.Count(s.data[s.from:end], []byte{'\n'})
	s.from = end
	return row, nil
}

// read fetches one record into pending and moves from past the empty lines
// before it; line stays behind so that next can give those lines.
func (s *csvSource) read() error {
	record, err := s.reader.Read()
	if errors.Is(err, io.EOF) {
		return io.EOF
	}
	if err != nil {
		where := Origin{File: s.file}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			where.Row = parse.Line
			err = parse.Err
		}
		return &ReadError{Where: where, Message: strings.TrimPrefix(err.Error(), "parse error: "), Err: err}
	}
	s.cells = s.cells[:0]
	for _, text := range record {
		s.cells = append(s.cells, rawCell{text: text})
	}
	line, _ := s.reader.FieldPos(0)
	for skip := s.line; skip < line; skip++ {
		s.from += int64(bytes.IndexByte(s.data[s.from:], '\n')) + 1
	}
	s.pending = &rawRow{number: line, cells: s.cells}
	return nil
}

func (s *csvSource) done() (n, total int64) {
	return s.reader.InputOffset(), int64(len(s.data))
}

func (s *csvSource) merged() []area { return nil }

func (s *csvSource) close() error { return nil }
