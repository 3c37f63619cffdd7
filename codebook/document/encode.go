package document

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// EncodeJSON writes a document as JSON, indented by two blanks, its keys in the
// order of the tree. Numbers are written digit for digit. A number in a
// notation that JSON does not have (0x1f, 1_000) is an *Error.
func EncodeJSON(n *Node) ([]byte, error) {
	var b strings.Builder
	if err := indentJSON(&b, n, ""); err != nil {
		return nil, err
	}
	return []byte(b.String() + "\n"), nil
}

// CompactJSON writes a document as JSON on one line, in characters that a line
// of a file and a cell of a spreadsheet can hold.
func CompactJSON(n *Node) (string, error) {
	switch n.Kind {
	case List:
		parts := make([]string, len(n.Items))
		for i, item := range n.Items {
			text, err := CompactJSON(item)
			if err != nil {
				return "", err
			}
			parts[i] = text
		}
		return "[" + strings.Join(parts, ", ") + "]", nil
	case Map:
		parts := make([]string, len(n.Pairs))
		for i, p := range n.Pairs {
			text, err := CompactJSON(p.Value)
			if err != nil {
				return "", err
			}
			parts[i] = QuoteJSON(p.Key) + ": " + text
		}
		return "{" + strings.Join(parts, ", ") + "}", nil
	}
	return scalarJSON(n)
}

// scalarJSON writes a text, a number, a boolean or nothing.
func scalarJSON(n *Node) (string, error) {
	switch n.Kind {
	case Bool:
		return strings.ToLower(n.Text), nil
	case Number:
		if !plainNumber.MatchString(n.Text) {
			return "", n.Errorf("found %s, expected a plain decimal number, or a text in quotes", n.found())
		}
		return n.Text, nil
	case Text:
		return QuoteJSON(n.Text), nil
	}
	return "null", nil
}

// indentJSON writes lists and maps over several lines.
func indentJSON(b *strings.Builder, n *Node, indent string) error {
	size := len(n.Items) + len(n.Pairs)
	if n.Kind < List || size == 0 {
		text, err := CompactJSON(n)
		b.WriteString(text)
		return err
	}
	deeper, open, shut := indent+"  ", "[", "]"
	if n.Kind == Map {
		open, shut = "{", "}"
	}
	b.WriteString(open)
	for i := range size {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString("\n" + deeper)
		value := n
		if n.Kind == List {
			value = n.Items[i]
		} else {
			value = n.Pairs[i].Value
			b.WriteString(QuoteJSON(n.Pairs[i].Key) + ": ")
		}
		if err := indentJSON(b, value, deeper); err != nil {
			return err
		}
	}
	b.WriteString("\n" + indent + shut)
	return nil
}

// QuoteJSON writes a text in double quotes as JSON and YAML do alike. What
// could not be seen or is not accepted in a file (control characters, line
// separators, the byte order mark) is written as an escape.
func QuoteJSON(text string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r == '\r':
			b.WriteString(`\r`)
		case !Printable(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// Printable reports whether a character may stand in a document unescaped, line
// ends and tabs aside.
func Printable(r rune) bool {
	return r >= ' ' && r < 0x7F || r >= 0xA0 && r != '\u2028' && r != '\u2029' && r != '\uFEFF' && r != 0xFFFE && r != 0xFFFF && r != utf8.RuneError
}

// Equal reports whether two documents hold the same values: maps have the same
// keys in any order, lists the same items in the same order, numbers the same
// digits.
func Equal(a, b *Node) bool {
	if a.Kind != b.Kind {
		return false
	}
	switch a.Kind {
	case Bool:
		return strings.EqualFold(a.Text, b.Text)
	case Number, Text:
		return a.Text == b.Text
	case List:
		if len(a.Items) != len(b.Items) {
			return false
		}
		for i := range a.Items {
			if !Equal(a.Items[i], b.Items[i]) {
				return false
			}
		}
	case Map:
		if len(a.Pairs) != len(b.Pairs) {
			return false
		}
		for _, p := range a.Pairs {
			if other := b.Get(p.Key); other == nil || !Equal(p.Value, other) {
				return false
			}
		}
	}
	return true
}
