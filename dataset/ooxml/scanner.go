package ooxml

import (
	"bytes"
	"io"
)

// A token is a piece of XML.
type token uint8

const (
	endOfPart token = iota
	startTag        // name, local, ours and attributes are set
	endTag          // also of an empty element, after its startTag
	charData        // text is set; a long text comes in several pieces
)

// An attribute is one of a start tag. Its value is as it stands in the file;
// coded says that it must be decoded.
type attribute struct {
	name, value []byte
	coded       bool
}

// A scanner reads one part as XML and refuses what is not well formed: tags
// that do not nest, a cut end, unknown entities, characters that XML does not
// have, bytes that are not UTF-8. A document type, which alone can define
// entities, is refused. What a token's fields hold is valid until the next
// token is read.
type scanner struct {
	part     string // name, for messages
	in       io.Reader
	buf      []byte
	pos, end int   // what is not yet read is buf[pos:end]
	before   int64 // bytes of the part that are no longer in buf
	done     bool  // in has ended
	failure  error // of in
	err      error // of the scanner; it stays

	local      []byte // the element's name without prefix
	ours       bool   // the element is of the main name space
	attributes []attribute
	text       []byte

	spaces   func(space string) bool // which name space is the main one
	prefixes []string                // bound to it by the root
	foreign  int                     // depth from which the prefix means something else, or 0
	names    []byte                  // of the open elements, one behind the other
	open     []int                   // where each begins
	empty    bool                    // the start tag read last was an empty element's
	rooted   bool                    // the root was opened
	scratch  []byte
	tail     [2]byte // the last characters of a text's piece, for "]]>"
}

// newScanner reads a part. spaces says which name spaces are the main one.
func newScanner(part string, in io.Reader, spaces func(string) bool) *scanner {
	return &scanner{part: part, in: in, buf: make([]byte, 64<<10), spaces: spaces}
}

// fail makes the error that ends the reading.
func (s *scanner) fail(format string, args ...any) error {
	if s.err == nil {
		e := refuse(format, args...)
		e.Message = "part " + quote(s.part) + " is damaged: " + e.Message
		s.err = e
	}
	return s.err
}

// short is the error where the part ends too early.
func (s *scanner) short() error {
	switch {
	case s.err != nil:
	case s.failure != nil:
		s.err = s.failure
	case len(s.open) > 0:
		return s.fail("it is cut short inside <%s>", s.top())
	default:
		return s.fail("it is cut short")
	}
	return s.err
}

// depth is the number of open elements; at a start tag its own is one of them,
// at an end tag it is not.
func (s *scanner) depth() int { return len(s.open) }

// top is the name of the innermost open element.
func (s *scanner) top() []byte { return s.names[s.open[len(s.open)-1]:] }

// offset is the number of bytes read.
func (s *scanner) offset() int64 { return s.before + int64(s.pos) }

// fill reads more behind what is not yet read, as much as there is room for.
// It reports false at the end of the part and where a token is too long.
func (s *scanner) fill() bool {
	if s.done || s.err != nil {
		return false
	}
	if s.pos > 0 {
		copy(s.buf, s.buf[s.pos:s.end])
		s.before += int64(s.pos)
		s.end -= s.pos
		s.pos = 0
	}
	if s.end == len(s.buf) {
		if len(s.buf) >= maxTagBytes {
			_ = s.fail("a tag, comment or section of more than %d bytes", maxTagBytes)
			return false
		}
		s.buf = append(s.buf, make([]byte, len(s.buf))...)
	}
	n, err := io.ReadFull(s.in, s.buf[s.end:])
	s.end += n
	if err != nil {
		s.done = true
		if err != io.EOF && err != io.ErrUnexpectedEOF { //nolint:errorlint // ReadFull gives these two as they are
			s.failure = err
		}
	}
	return n > 0
}

// ensure makes n bytes available, or reports false.
func (s *scanner) ensure(n int) bool {
	for s.end-s.pos < n {
		if !s.fill() {
			return false
		}
	}
	return true
}

// next reads the next token. A comment or a processing instruction is passed
// over.
func (s *scanner) next() (token, error) {
	if s.err != nil {
		return endOfPart, s.err
	}
	if s.empty {
		s.empty = false
		s.pop()
		return endTag, nil
	}
	if s.before == 0 && s.pos == 0 {
		if err := s.begin(); err != nil {
			return endOfPart, err
		}
	}
	for {
		if s.pos == s.end && !s.fill() {
			return endOfPart, s.finish()
		}
		if s.buf[s.pos] != '<' {
			t, err := s.readText()
			if t == charData || err != nil {
				return t, err
			}
			continue
		}
		if !s.ensure(2) {
			return endOfPart, s.short()
		}
		switch s.buf[s.pos+1] {
		case '/':
			return endTag, s.readEnd()
		case '?':
			if err := s.readInstruction(); err != nil {
				return endOfPart, err
			}
		case '!':
			section, err := s.readDeclaration()
			if err != nil {
				return endOfPart, err
			}
			if section {
				return charData, nil
			}
		default:
			return startTag, s.readStart()
		}
	}
}

// begin looks at the first bytes.
func (s *scanner) begin() error {
	if !s.ensure(4) && s.err == nil && s.end == 0 {
		if s.failure != nil {
			return s.short()
		}
		return s.fail("it is empty")
	}
	b := s.buf[:s.end]
	switch {
	case bytes.HasPrefix(b, []byte("\xef\xbb\xbf")):
		s.pos = 3
	case bytes.HasPrefix(b, []byte{0xff, 0xfe}), bytes.HasPrefix(b, []byte{0xfe, 0xff}),
		bytes.HasPrefix(b, []byte{'<', 0}), bytes.HasPrefix(b, []byte{0, '<'}):
		e := refuse("part %s is written in UTF-16, which is not read; save the workbook again in a spreadsheet program", quote(s.part))
		s.err = e
	}
	return s.err
}

// finish is the error at the end of the part, nil where all is closed.
func (s *scanner) finish() error {
	switch {
	case s.err != nil:
		return s.err
	case len(s.open) > 0 || s.failure != nil:
		return s.short()
	case !s.rooted:
		return s.fail("it holds no element")
	}
	return nil
}

// push opens an element.
func (s *scanner) push(name []byte) error {
	if len(s.open) == 0 && s.rooted {
		return s.fail("<%s> stands behind the end", name)
	}
	if len(s.open) >= maxDepth {
		return s.fail("more than %d elements within each other", maxDepth)
	}
	s.rooted = true
	s.open = append(s.open, len(s.names))
	s.names = append(s.names, name...)
	return nil
}

// pop closes the innermost element.
func (s *scanner) pop() {
	n := len(s.open) - 1
	if s.foreign > n {
		s.foreign = 0
	}
	s.names = s.names[:s.open[n]]
	s.open = s.open[:n]
}

// readEnd reads </name>.
func (s *scanner) readEnd() error {
	if len(s.open) == 0 {
		return s.fail("an end tag closes nothing")
	}
	name := s.top()
	if !s.ensure(len(name)+3) && (s.err != nil || s.end-s.pos < 3) {
		return s.short()
	}
	b := s.buf[s.pos+2 : s.end]
	if !bytes.HasPrefix(b, name) || len(b) > len(name) && isName[b[len(name)]] {
		n := 0
		for n < len(b) && n < 40 && isName[b[n]] {
			n++
		}
		return s.fail("</%s> stands where </%s> was expected", b[:n], name)
	}
	for i := len(name); ; i++ {
		if i == len(b) {
			if !s.fill() {
				return s.short()
			}
			b = s.buf[s.pos+2 : s.end]
			i--
			continue
		}
		if b[i] == '>' {
			s.pos += 2 + i + 1
			s.pop()
			return nil
		}
		if !isSpace[b[i]] {
			return s.fail("</%s is not closed by >", name)
		}
	}
}

// skip reads up to the end of the element whose start tag was read last.
func (s *scanner) skip() error {
	depth := s.depth()
	for {
		t, err := s.next()
		if err != nil {
			return err
		}
		if t == endTag && s.depth() < depth {
			return nil
		}
	}
}
