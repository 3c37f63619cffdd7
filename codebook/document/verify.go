package document

import (
	"bytes"
	"strconv"
	"strings"
	"unicode/utf8"
)

// verify reads a scalar a second time from the source, by the rules of YAML
// alone, and refuses it where the parser made something else of it. A text
// must never reach a codebook in another form than it was written.
func (y *yamlReader) verify(n *Node) error {
	text, ok := "", false
	rest := y.source.data[n.start:]
	switch n.style {
	case plain:
		text, ok = unfold(plainSource(rest, n.Text)), true
	case single:
		text, ok = singleQuoted(rest)
	case double:
		text, ok = doubleQuoted(rest)
	}
	if ok && text == n.Text {
		return nil
	}
	if n.style == plain && bytes.ContainsRune(bytes.SplitN(rest, []byte("\n"), 2)[0], '\t') {
		return y.source.fault(n.start, "a tab inside an unquoted text: quote it")
	}
	return y.source.fault(n.start, "the text can be read in two ways: put it in double quotes on one line")
}

// plainSource is the part of the source that an unquoted text took: as many
// characters as it has, not counting blanks and line ends.
func plainSource(data []byte, text string) string {
	want := 0
	for _, r := range text {
		if r != ' ' && r != '\t' && r != '\n' {
			want++
		}
	}
	i := 0
	for want > 0 && i < len(data) {
		r, size := utf8.DecodeRune(data[i:])
		if r != ' ' && r != '\t' && r != '\n' {
			want--
		}
		i += size
	}
	return string(data[:i])
}

// unfold joins the lines of a flow scalar: blanks around a line's end go, one
// line end becomes a blank, and each further one stays.
func unfold(text string) string {
	lines := strings.Split(text, "\n")
	if len(lines) == 1 {
		return text
	}
	var b strings.Builder
	for i, line := range lines {
		if i > 0 {
			line = strings.TrimLeft(line, " \t")
		}
		if i < len(lines)-1 {
			line = strings.TrimRight(line, " \t")
		}
		switch {
		case i == 0:
		case line == "" && i < len(lines)-1:
			b.WriteByte('\n')
		case i > 1 && strings.Trim(lines[i-1], " \t") == "":
		default:
			b.WriteByte(' ')
		}
		b.WriteString(line)
	}
	return b.String()
}

// singleQuoted is the text in single quotes that begins at data.
func singleQuoted(data []byte) (string, bool) {
	for i := 0; i < len(data); i++ {
		if data[i] != '\'' {
			continue
		}
		if i+1 < len(data) && data[i+1] == '\'' {
			i++
			continue
		}
		return unfold(strings.ReplaceAll(string(data[:i]), "''", "'")), true
	}
	return "", false
}

// doubleQuoted is the text in double quotes that begins at data. Escapes are
// undone after the lines are joined.
func doubleQuoted(data []byte) (string, bool) {
	end := 0
	for ; end < len(data) && data[end] != '"'; end++ {
		if data[end] == '\\' {
			end++
		}
	}
	if end >= len(data) {
		return "", false
	}
	raw := string(data[:end])
	if strings.Contains(raw, "\\\n") {
		return "", false // an escaped line end
	}
	raw = unfold(raw)
	var b strings.Builder
	for i := 0; i < len(raw); i++ {
		if raw[i] != '\\' {
			b.WriteByte(raw[i])
			continue
		}
		n := escapeLength([]byte(raw[i:]))
		r, ok := escape(raw[i:min(i+n, len(raw))])
		if !ok {
			return "", false
		}
		b.WriteRune(r)
		i += n - 1
	}
	return b.String(), true
}

// escape is the character of an escape sequence.
func escape(s string) (rune, bool) {
	if len(s) == 2 {
		if i := strings.IndexByte(`0abtnvfre"/\N_LP `+"\t", s[1]); i >= 0 {
			return []rune("\x00\a\b\t\n\v\f\r\x1b\"/\\\u0085\u00a0\u2028\u2029 \t")[i], true
		}
		return 0, false
	}
	if len(s) < 4 || len(s) == 12 {
		return 0, false
	}
	code, err := strconv.ParseUint(s[2:], 16, 32)
	return rune(code), err == nil && utf8.ValidRune(rune(code))
}
