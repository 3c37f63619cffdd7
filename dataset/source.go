package dataset

import (
	"encoding/binary"

	"heelcohort/codebook/value"
)

// sources are the texts of a column's cells as they were read. They lie one
// behind the other, each behind its length, so that a cell costs four bytes
// beside its text; texts of some length that recur are kept once.
type sources struct {
	data  []byte
	at    []uint32          // where each row's text lies in data
	known map[string]uint32 // while the column is filled
}

// Texts from recurLength bytes on are looked for among the first recurTexts.
const (
	recurLength = 8
	recurTexts  = 1024
)

// add appends the text of the next row.
func (s *sources) add(text string) {
	s.at = append(s.at, s.keep(text))
}

// put exchanges the text of row i.
func (s *sources) put(i int, text string) { s.at[i] = s.keep(text) }

// keep gives the place of a text in data, where it is put if it is new.
func (s *sources) keep(text string) uint32 {
	if len(text) >= recurLength {
		if at, ok := s.known[text]; ok {
			return at
		}
	}
	at := uint32(len(s.data))
	s.data = binary.AppendUvarint(s.data, uint64(len(text)))
	s.data = append(s.data, text...)
	if len(text) >= recurLength && len(s.known) < recurTexts {
		if s.known == nil {
			s.known = make(map[string]uint32)
		}
		s.known[string(s.data[len(s.data)-len(text):])] = at
	}
	return at
}

// sameText stands for the text that the column's own slice of texts holds.
const sameText = 1<<32 - 1

// addSource appends the text of the row that was added last. Where it is the
// value itself it is not kept twice.
func (c *Column) addSource(text string) {
	i := c.Len() - 1
	if c.Kind == value.Text && c.State[i] == Present && c.Text[i] == text {
		c.source.at = append(c.source.at, sameText)
		return
	}
	c.source.add(text)
}

// text is that of row i.
func (s *sources) text(i int) string {
	b := s.data[s.at[i]:]
	n, size := binary.Uvarint(b)
	return string(b[size : size+int(n)])
}

// pick is the texts of the rows at the given indexes. They share their bytes.
func (s *sources) pick(index []int) *sources {
	if s == nil {
		return nil
	}
	return &sources{data: s.data[:len(s.data):len(s.data)], at: pick(s.at, index)}
}

// Source is the text of row i's cell as read, "" for a derived variable.
func (c *Column) Source(i int) string {
	if c.source == nil {
		return ""
	}
	if c.source.at[i] == sameText {
		return c.Text[i]
	}
	return c.source.text(i)
}

// HasSource reports whether the column was read from cells: a derived variable
// has no texts.
func (c *Column) HasSource() bool { return c.source != nil }
