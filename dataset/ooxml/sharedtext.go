package ooxml

import (
	"strings"
	"unicode/utf16"
)

// texts are the shared texts of a workbook. They lie one behind the other in a
// few large strings, so that each costs four bytes beside its own.
type texts struct {
	chunks []string
	starts []uint32 // of each text: number of its chunk and place in it, chunkBits below
	buf    []byte   // the chunk that is being filled
	total  int64    // bytes in chunks
}

// A chunk is closed once it has this many bytes, so that every text begins
// below them.
const (
	chunkBits  = 20
	chunkBytes = 1 << chunkBits
)

// len is the number of texts.
func (t *texts) len() int { return len(t.starts) }

// begin begins a text behind what buf holds.
func (t *texts) begin() {
	if len(t.buf) >= chunkBytes {
		t.flush()
	}
	t.starts = append(t.starts, uint32(len(t.chunks)<<chunkBits|len(t.buf)))
}

// flush closes the chunk.
func (t *texts) flush() {
	t.chunks = append(t.chunks, string(t.buf))
	t.total += int64(len(t.buf))
	t.buf = t.buf[:0]
}

// text is the text with the given index.
func (t *texts) text(i int) string {
	start := t.starts[i]
	chunk := t.chunks[start>>chunkBits]
	from, to := int(start%chunkBytes), len(chunk)
	if i+1 < len(t.starts) {
		if next := t.starts[i+1]; next>>chunkBits == start>>chunkBits {
			to = int(next % chunkBytes)
		}
	}
	return chunk[from:to]
}

// sharedTexts reads the shared texts, once.
func (b *Book) sharedTexts() (*texts, error) {
	if b.shared != nil {
		return b.shared, nil
	}
	t := &texts{}
	if b.strings == "" {
		b.shared = t
		return t, nil
	}
	err := b.archive.read(b.strings, maxPartBytes, mainSpace, func(s *scanner) error {
		for {
			k, err := s.next()
			if err != nil || k == endOfPart {
				return err
			}
			if k != startTag || s.depth() != 2 || string(s.local) != "si" {
				continue
			}
			if !s.ours {
				return s.fail("<si> stands in another name space")
			}
			if t.len() >= maxSharedTexts {
				return refuse("part %s has more than the %d texts that are read", quote(b.strings), maxSharedTexts)
			}
			t.begin()
			if t.buf, err = s.richText(t.buf, maxCellBytes); err != nil {
				return err
			}
			if t.total+int64(len(t.buf)) > maxSharedBytes {
				return refuse("part %s has more than the %d bytes of text that are read", quote(b.strings), maxSharedBytes)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	t.flush()
	t.buf = nil
	b.shared = t
	return t, nil
}

// richText appends the text of the element whose start tag was read last, a
// shared text or an inline one: that of its t, and those of its runs. Phonetic
// runs tell how a text is spoken and are left out.
func (s *scanner) richText(out []byte, most int) ([]byte, error) {
	from, depth := len(out), s.depth()
	for {
		t, err := s.next()
		switch {
		case err != nil:
			return out, err
		case t == endTag && s.depth() < depth:
			return out, nil
		case t == charData && !blank(s.text):
			return out, s.fail("text stands outside of <t>")
		case t != startTag || !s.ours:
			continue
		}
		switch string(s.local) {
		case "t":
			if out, err = s.plainText(out, from, most); err != nil {
				return out, err
			}
		case "r":
		default:
			if err := s.skip(); err != nil {
				return out, err
			}
		}
	}
}

// plainText appends the text of the element whose start tag was read last,
// which holds text alone, with codes such as _x000D_ decoded. Behind from out
// must not grow beyond most.
func (s *scanner) plainText(out []byte, from, most int) ([]byte, error) {
	begin := len(out)
	for {
		t, err := s.next()
		switch {
		case err != nil:
			return out, err
		case t == endTag:
			if hasCode(out[begin:]) {
				out = append(out[:begin], uncoded(string(out[begin:]))...)
			}
			return out, nil
		case t == startTag:
			return out, s.fail("<%s> stands within a text", printable(string(s.local)))
		}
		out = append(out, s.text...)
		if len(out)-from > most {
			return out, refuse("a text of more than %d bytes; a cell holds 32767 characters at most", most)
		}
	}
}

// blank reports whether a text is blanks alone.
func blank(text []byte) bool {
	for _, c := range text {
		if !isSpace[c] {
			return false
		}
	}
	return true
}

// hasCode reports whether a text may hold a code of a character.
func hasCode(text []byte) bool {
	for i, c := range text {
		if c == '_' && i+6 < len(text) && text[i+1] == 'x' && text[i+6] == '_' {
			return true
		}
	}
	return false
}

// uncoded decodes the characters that the format writes as _xHHHH_, in units of
// UTF-16. A half of a pair that stands alone is no character and is left as it
// is written.
func uncoded(text string) string {
	var b strings.Builder
	for i := 0; i < len(text); {
		unit, ok := code(text[i:])
		if !ok {
			b.WriteByte(text[i])
			i++
			continue
		}
		r := rune(unit)
		n := 7
		if utf16.IsSurrogate(r) {
			second, ok := code(text[i+7:])
			r = utf16.DecodeRune(r, rune(second))
			if n = 14; !ok || r == '\ufffd' {
				b.WriteByte(text[i])
				i++
				continue
			}
		}
		b.WriteRune(r)
		i += n
	}
	return b.String()
}

// code reads _xHHHH_ at the beginning of text.
func code(text string) (uint16, bool) {
	if len(text) < 7 || text[0] != '_' || text[1] != 'x' || text[6] != '_' {
		return 0, false
	}
	var unit uint16
	for _, c := range []byte(text[2:6]) {
		switch {
		case c >= '0' && c <= '9':
			c -= '0'
		case c >= 'a' && c <= 'f':
			c -= 'a' - 10
		case c >= 'A' && c <= 'F':
			c -= 'A' - 10
		default:
			return 0, false
		}
		unit = unit<<4 | uint16(c)
	}
	return unit, true
}
