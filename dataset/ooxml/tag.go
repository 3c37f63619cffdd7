package ooxml

import (
	"bytes"
	"strings"
	"unicode/utf8"
)

// Classes of bytes. Bytes of characters beyond ASCII may stand in names, of any
// sort as long as they are UTF-8: which letters the standard allows there
// differs by its edition.
var isName, isNameStart, isSpace, isPlainText, isPlainValue [256]bool

func init() {
	for c := range 256 {
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c == '_' || c >= 0x80
		isNameStart[c] = letter
		isName[c] = letter || c >= '0' && c <= '9' || c == '-' || c == '.' || c == ':'
		isSpace[c] = c == ' ' || c == '\t' || c == '\n' || c == '\r'
		isPlainText[c] = c >= ' ' && c < 0x7f && c != '<' && c != '&' && c != '>' || c == '\t' || c == '\n'
		isPlainValue[c] = c >= ' ' && c < 0x7f && c != '<' && c != '&' && c != '"' && c != '\''
	}
}

// readStart reads a start tag with its attributes.
func (s *scanner) readStart() error {
	for {
		n, err := s.parseStart(s.buf[s.pos:s.end])
		if err != nil {
			return err
		}
		if n > 0 {
			s.pos += n
			return nil
		}
		if !s.fill() {
			return s.short()
		}
	}
}

// parseStart reads a start tag from b and gives its length, or 0 where b does
// not hold all of it.
func (s *scanner) parseStart(b []byte) (int, error) {
	i, colon := 1, -1
	for i < len(b) && isName[b[i]] {
		if b[i] == ':' && colon < 0 {
			colon = i
		}
		i++
	}
	if i == len(b) {
		return 0, nil
	}
	if i == 1 || !isNameStart[b[1]] || colon >= 0 && (colon == i-1 || !isNameStart[b[colon+1]]) {
		return 0, s.fail("< is not followed by a name")
	}
	name := b[1:i]
	if !utf8.Valid(name) {
		return 0, s.fail("the name of an element is not valid UTF-8")
	}
	s.attributes = s.attributes[:0]
	scoped := false
	for {
		from := i
		for i < len(b) && isSpace[b[i]] {
			i++
		}
		if i == len(b) {
			return 0, nil
		}
		if b[i] == '>' {
			i++
			break
		}
		if b[i] == '/' {
			if i+1 == len(b) {
				return 0, nil
			}
			if b[i+1] != '>' {
				return 0, s.fail("<%s is not closed by />", name)
			}
			s.empty = true
			i += 2
			break
		}
		a := attribute{}
		start := i
		for i < len(b) && isName[b[i]] {
			i++
		}
		a.name = b[start:i]
		for i < len(b) && isSpace[b[i]] {
			i++
		}
		if i == len(b) {
			return 0, nil
		}
		if !utf8.Valid(a.name) {
			return 0, s.fail("the name of an attribute of <%s> is not valid UTF-8", name)
		}
		if from == start || len(a.name) == 0 || !isNameStart[a.name[0]] || b[i] != '=' {
			return 0, s.fail("the attributes of <%s> are not written as name=\"value\"", name)
		}
		i++
		for i < len(b) && isSpace[b[i]] {
			i++
		}
		if i == len(b) {
			return 0, nil
		}
		quote := b[i]
		if quote != '"' && quote != '\'' {
			return 0, s.fail("the value of attribute %s of <%s> has no quotation marks", a.name, name)
		}
		i++
		start = i
		for i < len(b) && b[i] != quote {
			if !isPlainValue[b[i]] {
				if b[i] == '<' {
					return 0, s.fail("a < in the value of attribute %s of <%s>", a.name, name)
				}
				a.coded = true
			}
			i++
		}
		if i == len(b) {
			return 0, nil
		}
		a.value = b[start:i]
		i++
		scoped = scoped || a.name[0] == 'x' && bytes.HasPrefix(a.name, []byte("xmlns"))
		if err := s.addAttribute(name, a); err != nil {
			return 0, err
		}
	}
	if err := s.push(name); err != nil {
		return 0, err
	}
	if scoped || len(s.open) == 1 {
		if err := s.scope(); err != nil {
			return 0, err
		}
	}
	s.local, s.ours = name, colon < 0
	prefix := []byte(nil)
	if colon >= 0 {
		s.local, prefix = b[colon+1:1+len(name)], b[1:colon]
	}
	s.ours = s.foreign == 0 && s.isMain(prefix)
	return i, nil
}

// addAttribute checks an attribute and keeps it.
func (s *scanner) addAttribute(element []byte, a attribute) error {
	for _, other := range s.attributes {
		if bytes.Equal(other.name, a.name) {
			return s.fail("<%s> has attribute %s twice", element, a.name)
		}
	}
	if len(s.attributes) == maxAttributes {
		return s.fail("<%s> has more than %d attributes", element, maxAttributes)
	}
	if a.coded {
		// Decoded for the check; where the value is wanted, once more.
		if _, err := s.decode(a.value, true); err != nil {
			return err
		}
	}
	s.attributes = append(s.attributes, a)
	return nil
}

// isMain reports whether a prefix is bound to the main name space.
func (s *scanner) isMain(prefix []byte) bool {
	for _, p := range s.prefixes {
		if p == string(prefix) {
			return true
		}
	}
	return false
}

// scope takes the name spaces that a tag declares. The root's hold for the
// whole part; where an element deeper inside gives the main prefix to another
// name space, nothing within it is ours.
func (s *scanner) scope() error {
	root := len(s.open) == 1
	bare := false // the default name space is declared
	for _, a := range s.attributes {
		prefix, ok := strings.CutPrefix(string(a.name), "xmlns")
		if !ok || prefix != "" && prefix[0] != ':' {
			continue
		}
		prefix = strings.TrimPrefix(prefix, ":")
		bare = bare || prefix == ""
		value, err := s.value(a)
		if err != nil {
			return err
		}
		main := s.spaces(value)
		switch {
		case root && main:
			s.prefixes = append(s.prefixes, prefix)
		case !root && !main && s.foreign == 0 && s.isMain([]byte(prefix)):
			s.foreign = len(s.open)
		}
	}
	if root && len(s.prefixes) == 0 && !bare {
		s.prefixes = []string{""} // no name space at all
	}
	return nil
}

// value is the decoded value of an attribute.
func (s *scanner) value(a attribute) (string, error) {
	if !a.coded {
		return string(a.value), nil
	}
	b, err := s.decode(a.value, true)
	return string(b), err
}

// attribute gives the value of an attribute of the start tag read last, "" where
// it has none. The value was checked when the tag was read.
func (s *scanner) attribute(name string) string {
	for _, a := range s.attributes {
		if string(a.name) == name {
			v, err := s.value(a)
			if err != nil {
				return ""
			}
			return v
		}
	}
	return ""
}
