package dataset

import "encoding/binary"

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
	if len(text) >= recurLength {
		if at, ok := s.known[text]; ok {
			s.at = append(s.at, at)
			return
		}
	}
	at := uint32(len(s.data))
	s.data = binary.AppendUvarint(s.data, uint64(len(text)))
	s.data = append(s.data, text...)
	s.at = append(s.at, at)
	if len(text) >= recurLength && len(s.known) < recurTexts {
		if s.known == nil {
			s.known = make(map[string]uint32)
		}
		s.known[string(s.data[len(s.data)-len(text):])] = at
	}
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
	return c.source.text(i)
}

// HasSource reports whether the column was read from cells: a derived variable
// has no texts.
func (c *Column) HasSource() bool { return c.source != nil }
