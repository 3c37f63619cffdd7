package ooxml

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"
)

// readText reads text up to the next tag, or a piece of it. Blanks around the
// root give no token.
func (s *scanner) readText() (token, error) {
	i := s.pos
	for i < s.end && isPlainText[s.buf[i]] {
		i++
	}
	if i < s.end && s.buf[i] == '<' && len(s.open) > 0 {
		s.text = s.buf[s.pos:i]
		s.pos = i
		s.tail = [2]byte{}
		return charData, nil
	}
	n := -1
	for {
		b := s.buf[s.pos:s.end]
		if n = bytes.IndexByte(b, '<'); n >= 0 {
			break
		}
		if len(b) >= 32<<10 {
			n = safeCut(b)
			break
		}
		if !s.fill() {
			if s.err != nil || len(s.open) > 0 {
				return endOfPart, s.short()
			}
			n = s.end - s.pos
			break
		}
	}
	raw := s.buf[s.pos : s.pos+n]
	text, err := s.decode(raw, false)
	if err != nil {
		return endOfPart, err
	}
	s.tail = [2]byte{}
	if n > 1 && s.pos+n < s.end && s.buf[s.pos+n] != '<' {
		s.tail = [2]byte{raw[n-2], raw[n-1]}
	}
	s.pos += n
	s.text = text
	if len(s.open) == 0 {
		if len(bytes.TrimLeft(text, " \t\n")) > 0 {
			return endOfPart, s.fail("text stands outside of the elements")
		}
		return endOfPart, nil
	}
	return charData, nil
}

// longestReference is the length of the longest reference that is read.
const longestReference = 16

// safeCut is a place near the end of b where no character, reference or line
// end is cut in two.
func safeCut(b []byte) int {
	n := len(b) - utf8.UTFMax
	for n > 0 && !utf8.RuneStart(b[n]) && n > len(b)-2*utf8.UTFMax {
		n--
	}
	if i := bytes.LastIndexByte(b[n-longestReference:n], '&'); i >= 0 && bytes.IndexByte(b[n-longestReference+i:n], ';') < 0 {
		n -= longestReference - i
	}
	if b[n-1] == '\r' {
		n--
	}
	return n
}

// decode resolves references and normalizes line ends, in an attribute's value
// all blanks, and refuses what XML cannot hold.
func (s *scanner) decode(raw []byte, value bool) ([]byte, error) {
	out := s.scratch[:0]
	for i := 0; i < len(raw); {
		c := raw[i]
		switch {
		case c == '&':
			r, n, err := s.reference(raw[i:])
			if err != nil {
				return nil, err
			}
			out = utf8.AppendRune(out, r)
			i += n
			continue
		case c == '\r':
			c = '\n'
			if i+1 < len(raw) && raw[i+1] == '\n' {
				i++
			}
			if value {
				c = ' '
			}
		case value && (c == '\n' || c == '\t'):
			c = ' '
		case c < ' ' && c != '\n' && c != '\t':
			return nil, s.fail("the byte %#02x, which XML does not allow", c)
		case c == '>' && !value && s.closesSection(raw[:i]):
			return nil, s.fail("]]> stands outside of a section")
		case c >= utf8.RuneSelf:
			r, n := utf8.DecodeRune(raw[i:])
			if r == utf8.RuneError && n <= 1 {
				return nil, s.fail("the byte %#02x is not valid UTF-8", c)
			}
			if r == 0xfffe || r == 0xffff {
				return nil, s.fail("the character U+%04X, which XML does not allow", r)
			}
			out = append(out, raw[i:i+n]...)
			i += n
			continue
		}
		out = append(out, c)
		i++
	}
	s.scratch = out
	return out, nil
}

// closesSection reports whether the text before a > ends in ]].
func (s *scanner) closesSection(before []byte) bool {
	all := append(s.tail[:2:2], before[max(0, len(before)-2):]...)
	return string(all[len(all)-2:]) == "]]"
}

// reference reads &name; and gives its character and length.
func (s *scanner) reference(b []byte) (rune, int, error) {
	n := bytes.IndexByte(b[:min(len(b), longestReference)], ';')
	if n < 0 {
		return 0, 0, s.fail("an & that begins no reference such as &amp;")
	}
	name := string(b[1:n])
	switch name {
	case "lt":
		return '<', n + 1, nil
	case "gt":
		return '>', n + 1, nil
	case "amp":
		return '&', n + 1, nil
	case "quot":
		return '"', n + 1, nil
	case "apos":
		return '\'', n + 1, nil
	}
	digits, numeric := strings.CutPrefix(name, "#")
	base := 10
	if hex, ok := strings.CutPrefix(digits, "x"); ok {
		digits, base = hex, 16
	}
	if !numeric {
		return 0, 0, s.fail("the unknown entity &%s;", printable(name))
	}
	x, err := strconv.ParseUint(digits, base, 32)
	r := rune(x)
	if err != nil || x > utf8.MaxRune || !isCharacter(r) {
		return 0, 0, s.fail("the reference &%s;, which is no character that XML allows", printable(name))
	}
	return r, n + 1, nil
}

// isCharacter reports whether XML can hold r.
func isCharacter(r rune) bool {
	return r == '\t' || r == '\n' || r == '\r' || r >= ' ' && r < 0xd800 || r >= 0xe000 && r < 0xfffe || r >= 0x10000 && r <= utf8.MaxRune
}

// printable makes a word of the file fit for a message.
func printable(word string) string {
	q := quote(word)
	return q[1 : len(q)-1]
}

// quote writes a name of the file for a message, shortened where it is long.
func quote(word string) string {
	const most = 100
	if len(word) > most {
		word = word[:most] + "…"
	}
	return strconv.Quote(word)
}

// readInstruction passes over <?…?> and looks at the encoding that the XML
// declaration names.
func (s *scanner) readInstruction() error {
	n, err := s.find("?>", 2)
	if err != nil {
		return err
	}
	body := s.buf[s.pos+2 : s.pos+n]
	first := s.before == 0 && (s.pos == 0 || s.pos == 3)
	s.pos += n + 2
	if len(body) == 0 || !isNameStart[body[0]] {
		return s.fail("<? is not followed by a name")
	}
	end := bytes.IndexAny(body, " \t\r\n")
	if end < 0 {
		end = len(body)
	}
	if !strings.EqualFold(string(body[:end]), "xml") {
		_, err := s.decode(bytes.ReplaceAll(body, []byte("&"), []byte(" ")), true)
		return err
	}
	if !first {
		return s.fail("<?xml stands behind the beginning")
	}
	encoding := declaredEncoding(body)
	switch strings.ToLower(encoding) {
	case "", "utf-8", "utf8", "us-ascii", "ascii":
		return nil
	}
	e := refuse("part %s is written in %s, which is not read; save the workbook again in a spreadsheet program", quote(s.part), quote(encoding))
	s.err = e
	return e
}

// declaredEncoding is the encoding in an XML declaration, "" where it names none.
func declaredEncoding(body []byte) string {
	_, after, ok := bytes.Cut(body, []byte("encoding"))
	if !ok {
		return ""
	}
	after = bytes.TrimLeft(after, " \t\r\n=")
	if len(after) < 2 {
		return "?"
	}
	word, _, ok := bytes.Cut(after[1:], after[:1])
	if !ok {
		return "?"
	}
	return string(word)
}

// readDeclaration passes over a comment, or reads a section into text.
func (s *scanner) readDeclaration() (section bool, err error) {
	s.ensure(9)
	b := s.buf[s.pos:s.end]
	switch {
	case bytes.HasPrefix(b, []byte("<!--")):
		n, err := s.find("--", 4)
		if err != nil {
			return false, err
		}
		if !s.ensure(n + 3) {
			return false, s.short()
		}
		if s.buf[s.pos+n+2] != '>' {
			return false, s.fail("-- stands within a comment")
		}
		body := bytes.ReplaceAll(s.buf[s.pos+4:s.pos+n], []byte("&"), []byte(" "))
		s.pos += n + 3
		_, err = s.decode(body, true)
		return false, err
	case bytes.HasPrefix(b, []byte("<![CDATA[")):
		if len(s.open) == 0 {
			return false, s.fail("a section stands outside of the elements")
		}
		n, err := s.find("]]>", 9)
		if err != nil {
			return false, err
		}
		// References mean nothing in a section, and a > is only itself.
		var out []byte
		for i, piece := range bytes.Split(s.buf[s.pos+9:s.pos+n], []byte("&")) {
			if i > 0 {
				out = append(out, '&')
			}
			for j, p := range bytes.Split(piece, []byte(">")) {
				if j > 0 {
					out = append(out, '>')
				}
				s.tail = [2]byte{}
				plain, err := s.decode(p, false)
				if err != nil {
					return false, err
				}
				out = append(out, plain...)
			}
		}
		s.pos += n + 3
		s.text = out
		return true, nil
	case len(b) < 9 && s.err == nil && !bytes.HasPrefix(b, []byte("<!D")):
		return false, s.short()
	case bytes.HasPrefix(b, []byte("<!D")) || bytes.HasPrefix(b, []byte("<!d")):
		e := refuse("part %s has a document type (<!DOCTYPE), which workbooks do not have; it is not read", quote(s.part))
		s.err = e
		return false, e
	}
	return false, s.fail("<! begins neither a comment nor a section")
}

// find looks for a mark from the given place on, within the limit of a token,
// and gives its place.
func (s *scanner) find(mark string, from int) (int, error) {
	for {
		if from <= s.end-s.pos {
			if n := bytes.Index(s.buf[s.pos+from:s.end], []byte(mark)); n >= 0 {
				return from + n, nil
			}
			from = max(from, s.end-s.pos-len(mark)+1)
		}
		if !s.fill() {
			return 0, s.short()
		}
	}
}
