package dataset

import (
	"context"
	"errors"
	"io"
	"path"
	"strings"

	"heelcohort/codebook"
	"heelcohort/dataset/delimited"
)

// A textSource gives the records of a text file as rows.
type textSource struct {
	file   string
	reader *delimited.Reader
	cells  []rawCell
	named  bool // the first line, which names the separator, is still to come
}

// usualDelimiter is the separator that a file's name promises, or 0 where the
// name is not that of a text file.
func usualDelimiter(file string) byte {
	switch strings.ToLower(path.Ext(file)) {
	case ".csv":
		return ','
	case ".tsv", ".tab", ".txt":
		return '\t'
	}
	return 0
}

// newText finds out how a text file is written and makes a source. What the
// codebook pins holds. Every refusal names the line.
func newText(file string, data []byte, r *codebook.Resource) (*textSource, error) {
	d := delimited.Dialect{Encoding: r.Encoding, LineEnd: r.Dialect.LineTerminator}
	if s := r.Dialect.Delimiter; s != "" {
		d.Delimiter = s[0]
	}
	if s := r.Dialect.QuoteChar; s != "" {
		d.Quote = s[0]
	}
	d.Undoubled = r.Dialect.DoubleQuote != nil && !*r.Dialect.DoubleQuote
	var names []string
	for _, f := range r.Schema.Fields {
		names = append(names, f.Headings()...)
	}
	reader, err := delimited.NewReader(data, d, delimited.Header{
		Line: r.HeaderRow, Names: names, Usual: usualDelimiter(file),
	})
	if err != nil {
		return nil, textError(file, err)
	}
	return &textSource{file: file, reader: reader, named: reader.Found().Named}, nil
}

// textError places an error in its file.
func textError(file string, err error) error {
	where := Origin{File: file}
	message := err.Error()
	var e *delimited.Error
	if errors.As(err, &e) {
		where.Row, where.Column, message = e.Line, e.Column, e.Message
	}
	return &ReadError{Where: where, Message: message, Err: err}
}

// firstRow is the line of the first record.
func (s *textSource) firstRow() int {
	if s.reader.Found().Named {
		return 2
	}
	return 1
}

// next gives the next record. A line that names the separator and an empty one
// are rows without cells.
func (s *textSource) next() (rawRow, error) {
	if s.named {
		s.named = false
		return rawRow{number: 1}, nil
	}
	record, err := s.reader.Read()
	if errors.Is(err, io.EOF) {
		return rawRow{}, io.EOF
	}
	if err != nil {
		return rawRow{}, textError(s.file, err)
	}
	s.cells = s.cells[:0]
	for _, text := range record.Cells {
		s.cells = append(s.cells, rawCell{text: text})
	}
	return rawRow{number: record.Line, cells: s.cells}, nil
}

func (s *textSource) done() (n, total int64) { return s.reader.Offset() }

func (s *textSource) merged() []area { return nil }

func (s *textSource) close() error { return nil }

// openText reads the table of a text file.
func openText(ctx context.Context, file *File, data []byte, r *codebook.Resource, tables map[*codebook.Resource]*Table, p *progress) ([]Finding, error) {
	source, err := newText(file.Path, data, r)
	if err != nil {
		return nil, err
	}
	_, p.total = source.done()
	t, found, err := readTable(ctx, source, Origin{File: file.Path}, r, false, p)
	how := source.reader.Found()
	if err != nil {
		suggestForHead(err, r.Schema.Names(), how)
		return nil, err
	}
	tables[r] = t
	file.Text = &how
	return found, nil
}
