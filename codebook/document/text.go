package document

import (
	"strings"
	"unicode/utf8"
)

// A style is how a text is written in its file.
type style uint8

const (
	plain style = iota
	single
	double
	literal
	folded
)

// A String is a text that remembers where it was written, so that a fault
// inside it (an expression, a variable's name) can be pointed at.
type String struct {
	Value    string
	Position Position // of the first character inside the quotes

	node *Node
}

// UnmarshalDocument reads a text.
func (s *String) UnmarshalDocument(n *Node) error {
	text, err := n.text()
	if err != nil {
		return err
	}
	*s = n.string(text)
	return nil
}

// DocumentSchema is that of a text.
func (String) DocumentSchema() map[string]any { return map[string]any{"type": "string"} }

// string is the node's text with its place.
func (n *Node) string(text string) String {
	s := String{Value: text, Position: n.Position, node: n}
	if n.source != nil && n.start >= 0 {
		s.Position = n.source.at(n.start)
	}
	return s
}

// At is the place of the character at line and column of the text, both from
// 1, columns in characters. It follows quotes, escapes, folded lines and
// indented blocks.
func (s String) At(line, column int) Position {
	n := s.node
	if n == nil || n.source == nil || n.start < 0 {
		p := s.Position
		if line = min(line, 1+strings.Count(s.Value, "\n")); line > 1 {
			p.Line, p.Column = p.Line+line-1, column
		} else {
			p.Column += column - 1
		}
		return p
	}
	skip := 0
	for rest := s.Value; line > 1; line-- {
		end := strings.IndexByte(rest, '\n')
		if end < 0 {
			break
		}
		skip += end + 1
		rest = rest[end+1:]
	}
	for ; column > 1 && skip < len(s.Value) && s.Value[skip] != '\n'; column-- {
		_, size := utf8.DecodeRuneInString(s.Value[skip:])
		skip += size
	}
	return n.source.at(n.locate(s.Value, skip))
}

// Errorf is a fault at a line and column of the text, with its excerpt.
func (s String) Errorf(line, column int, nearest, format string, args ...any) *Error {
	n := s.node
	if n == nil {
		n = &Node{}
	}
	return n.errorAt(s.At(line, column), nearest, format, args...)
}

// locate is the byte of the source that gave byte target of the text.
func (n *Node) locate(text string, target int) int {
	data, i, j := n.source.data, 0, n.start
	for i < target && j < len(data) {
		c := text[i]
		_, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case n.style == double && data[j] == '\\':
			i, j = i+size, j+escapeLength(data[j:])
		case n.style == single && c == '\'':
			i, j = i+1, j+2
		case c == '\n' || c == ' ' && data[j] == '\n':
			i, j = i+1, n.nextLine(text[i:], j)
		default:
			i, j = i+size, j+size
		}
		for (n.style == plain || n.style == double) && i < len(text) && j < len(data) && foldsHere(data[j:]) && text[i] == ' ' {
			j += strings.IndexByte(string(data[j:]), '\n')
			break
		}
	}
	return min(j, len(data))
}

// nextLine steps over a line's end and what the reader drops after it.
func (n *Node) nextLine(text string, j int) int {
	data := n.source.data
	for j < len(data) && data[j] != '\n' {
		j++
	}
	j++
	if n.style == literal {
		for k := 1; k < n.start-n.lineStart(n.start)+1 && j < len(data) && data[j] == ' '; k++ {
			j++
		}
		return j
	}
	for j < len(data) && (data[j] == ' ' || data[j] == '\t' || data[j] == '\n' && !strings.HasPrefix(text, "\n\n")) {
		j++
	}
	return j
}

// lineStart is the first byte of the line of byte i.
func (n *Node) lineStart(i int) int {
	for i > 0 && n.source.data[i-1] != '\n' {
		i--
	}
	return i
}

// foldsHere reports whether only blanks stand before the line's end.
func foldsHere(data []byte) bool {
	for _, c := range data {
		switch c {
		case ' ', '\t':
		case '\n':
			return true
		default:
			return false
		}
	}
	return false
}

// escapeLength is the length of an escape sequence of a double-quoted text.
func escapeLength(data []byte) int {
	if len(data) < 2 {
		return 1
	}
	switch data[1] {
	case 'x':
		return 4
	case 'u':
		// A character beyond the first plane takes two in JSON.
		if surrogate(data, "89abAB") && len(data) >= 12 && surrogate(data[6:], "cdefCDEF") {
			return 12
		}
		return 6
	case 'U':
		return 10
	}
	return 2
}

// surrogate reports whether an escape is half of a character, its second digit
// being one of digits.
func surrogate(data []byte, digits string) bool {
	return len(data) >= 6 && data[0] == '\\' && data[1] == 'u' && (data[2] == 'd' || data[2] == 'D') &&
		strings.IndexByte(digits, data[3]) >= 0
}

// A Scalar is a text, number or boolean as it was written.
type Scalar struct {
	Text     string
	Kind     Kind // Text, Number or Bool
	Quoted   bool
	Position Position

	node *Node
}

// UnmarshalDocument reads a scalar.
func (s *Scalar) UnmarshalDocument(n *Node) error {
	switch n.Kind {
	case Text, Bool:
	case Number:
		if !plainNumber.MatchString(n.Text) {
			return n.Errorf("found %s, expected a plain decimal number, or a text in quotes", n.found())
		}
	default:
		return n.Errorf("found %s, expected a text, a number or a boolean", n.found())
	}
	*s = Scalar{Text: n.Text, Kind: n.Kind, Quoted: n.Quoted, Position: n.Position, node: n}
	return nil
}

// DocumentSchema is that of a text, a number or a boolean.
func (Scalar) DocumentSchema() map[string]any {
	return map[string]any{"type": []any{"string", "number", "boolean"}}
}

// Errorf is a fault at the scalar, with its excerpt.
func (s Scalar) Errorf(nearest, format string, args ...any) *Error {
	n := s.node
	if n == nil {
		n = &Node{}
	}
	return n.errorAt(s.Position, nearest, format, args...)
}
