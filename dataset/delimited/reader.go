package delimited

import (
	"bytes"
	"fmt"
	"io"
	"unicode/utf8"
)

// A Record is one record. Its cells are valid until the next one is read.
type Record struct {
	Line  int      // on which it begins
	Cells []string // nil of a line without a character
}

// A Reader reads the records of a text.
type Reader struct {
	text   []byte // UTF-8 without byte order mark
	at     int    // of the next record
	line   int    // of text[at]
	found  Found
	pinned string // line end
	single bool   // quotes are not doubled
	wide   bool   // some record has more than one cell
	count  int    // records with a character

	buffer []byte // texts of the record's cells, one behind the other
	ends   []int  // their ends in buffer
	cells  []string
}

// NewReader finds out how a text is written and makes a reader. The data must
// not be changed afterwards. The error is an *Error.
func NewReader(data []byte, d Dialect, h Header) (*Reader, error) {
	text, encoding, mark, err := decode(data, d.Encoding)
	if err != nil {
		return nil, err
	}
	text = bytes.TrimRight(text, "\x1a") // with which old systems end a text
	r := &Reader{text: text, line: 1, pinned: d.LineEnd, single: d.Undoubled, found: Found{
		Encoding: encoding, Mark: mark, Delimiter: d.Delimiter, Quote: d.Quote,
		EncodingPinned: d.Encoding != "", DelimiterPinned: d.Delimiter != 0, usual: h.Usual,
	}}
	if r.found.Quote == 0 {
		r.found.Quote = '"'
	}
	if r.found.usual == 0 {
		r.found.usual = ','
	}
	if err := r.named(); err != nil {
		return nil, err
	}
	if err := r.findSeparator(h); err != nil {
		return nil, err
	}
	return r, nil
}

// Found is how the text is written. The line ends are those of the records
// read so far.
func (r *Reader) Found() Found { return r.found }

// Offset is how far the text has been read, of its length.
func (r *Reader) Offset() (n, total int64) { return int64(r.at), int64(len(r.text)) }

// Read gives the next record; the error is io.EOF behind the last, or an
// *Error.
func (r *Reader) Read() (Record, error) {
	if r.at >= len(r.text) {
		return Record{}, r.end()
	}
	line, start := r.line, r.at
	r.buffer, r.ends, r.cells = r.buffer[:0], r.ends[:0], r.cells[:0]
	if n := r.lineEnd(r.at); n > 0 {
		if line > maxLines {
			return Record{}, refuse(line, "more than the %d lines that are read", maxLines)
		}
		if err := r.endLine(n); err != nil {
			return Record{}, err
		}
		return Record{Line: line}, nil
	}
	if r.count++; r.count > MaxRecords {
		return Record{}, refuse(line, "more than the %d records that are read", MaxRecords)
	}
	for more := true; more; {
		var err *Error
		if len(r.ends) == MaxColumns {
			return Record{}, refuse(line, "more than the %d cells that are read of a line", MaxColumns)
		}
		if r.at < len(r.text) && r.text[r.at] == r.found.Quote {
			more, err = r.quoted()
		} else {
			more, err = r.bare()
		}
		if err != nil {
			return Record{}, err
		}
		if r.at-start > maxRecord {
			return Record{}, refuse(line, "the record is longer than the %d bytes that are read", maxRecord)
		}
	}
	// One string for all cells of the record, as encoding/csv does.
	all, from := string(r.buffer), 0
	for _, end := range r.ends {
		r.cells = append(r.cells, all[from:end])
		from = end
	}
	r.wide = r.wide || len(r.cells) > 1
	return Record{Line: line, Cells: r.cells}, nil
}

// end is the error behind the last record. In a table of one column a carriage
// return among line feeds would cut a cell in two without a trace; in wider
// ones it leaves records that are too short.
func (r *Reader) end() error {
	if f := r.found; !r.wide && f.CR > 0 && f.LF+f.CRLF > 0 && r.pinned == "" {
		return refuse(0, "%d lines end in a carriage return alone and %d in a line feed; in a table of one column it cannot be told whether a cell was cut in two: save the file anew with one line end",
			f.CR, f.LF+f.CRLF)
	}
	return io.EOF
}

// lineEnd is the length of the line end at text[at], or 0.
func (r *Reader) lineEnd(at int) int {
	switch {
	case r.text[at] == '\n':
		return 1
	case r.text[at] != '\r':
		return 0
	case at+1 < len(r.text) && r.text[at+1] == '\n':
		return 2
	}
	return 1
}

// endLine passes a line end of n bytes that ends a record.
func (r *Reader) endLine(n int) *Error {
	cr := r.text[r.at] == '\r' && n == 1
	switch {
	case r.pinned == "\r" && !cr:
		return refuse(r.line, "the line ends in a line feed, the codebook says lineTerminator \"\\r\"")
	case (r.pinned == "\n" || r.pinned == "\r\n") && cr:
		return refuse(r.line, "a carriage return without a line feed, the codebook says lineTerminator %q", r.pinned)
	case cr:
		r.found.CR++
	case n == 2:
		r.found.CRLF++
	default:
		r.found.LF++
	}
	r.at += n
	r.line++
	return nil
}

// cell ends a cell of which text has been put into buffer.
func (r *Reader) cell(line int) *Error {
	from := 0
	if n := len(r.ends); n > 0 {
		from = r.ends[n-1]
	}
	if size := len(r.buffer) - from; size > MaxCellText && utf8.RuneCount(r.buffer[from:]) > MaxCellText {
		return r.tooLong(line)
	}
	r.ends = append(r.ends, len(r.buffer))
	return nil
}

func (r *Reader) tooLong(line int) *Error {
	return &Error{Line: line, Column: len(r.ends) + 1, Message: fmt.Sprintf("a cell of more than %d characters; is a quote missing?", MaxCellText)}
}

// after passes what stands behind a cell: more says that another follows.
func (r *Reader) after() (more bool, err *Error) {
	if r.at >= len(r.text) {
		return false, nil
	}
	if r.text[r.at] == r.found.Delimiter {
		r.at++
		return true, nil
	}
	return false, r.endLine(r.lineEnd(r.at))
}

// bare reads a cell without quotes.
func (r *Reader) bare() (more bool, err *Error) {
	rest, quote, delimiter := r.text[r.at:], r.found.Quote, r.found.Delimiter
	n := 0
	for ; n < len(rest); n++ {
		c := rest[n]
		if c == delimiter || c == '\n' || c == '\r' {
			break
		}
		if c == quote {
			return false, r.straight(rest[:n])
		}
		if n > MaxCellText*utf8.UTFMax {
			return false, r.tooLong(r.line)
		}
	}
	r.buffer = append(r.buffer, rest[:n]...)
	r.at += n
	if err := r.cell(r.line); err != nil {
		return false, err
	}
	return r.after()
}

// straight refuses a quote behind the first character of a cell.
func (r *Reader) straight(before []byte) *Error {
	e := &Error{Line: r.line, Column: len(r.ends) + 1}
	if len(bytes.TrimSpace(before)) == 0 {
		e.Message = fmt.Sprintf("a blank before the opening quote %c; remove it", r.found.Quote)
		return e
	}
	e.Message = fmt.Sprintf("a quote %c inside a cell that does not begin with one; put the cell into quotes and double the quote in it", r.found.Quote)
	return e
}

// quoted reads a cell in quotes.
func (r *Reader) quoted() (more bool, err *Error) {
	opened, quote, start := r.line, r.found.Quote, len(r.buffer)
	r.at++
	for {
		if len(r.buffer)-start > MaxCellText*utf8.UTFMax {
			return false, r.tooLong(opened)
		}
		if r.at >= len(r.text) {
			return false, &Error{Line: opened, Column: len(r.ends) + 1, Message: fmt.Sprintf("the quote %c is not closed", quote)}
		}
		switch c := r.text[r.at]; c {
		case quote:
			r.at++
			if r.at >= len(r.text) || r.text[r.at] == r.found.Delimiter || r.lineEnd(r.at) > 0 {
				if err := r.cell(opened); err != nil {
					return false, err
				}
				return r.after()
			}
			if r.text[r.at] != quote {
				return false, &Error{Line: r.line, Column: len(r.ends) + 1, Message: fmt.Sprintf("text behind the closing quote %c; a quote inside quotes is doubled", quote)}
			}
			if r.single {
				return false, &Error{Line: r.line, Column: len(r.ends) + 1, Message: fmt.Sprintf("a doubled quote %c, the codebook says doubleQuote false", quote)}
			}
			r.buffer = append(r.buffer, quote)
			r.at++
		case '\n', '\r':
			r.at += r.lineEnd(r.at)
			r.line++
			r.buffer = append(r.buffer, '\n')
		default:
			r.buffer = append(r.buffer, c)
			r.at++
		}
	}
}
