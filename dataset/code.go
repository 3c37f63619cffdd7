package dataset

import "slices"

// codes are the missing codes of a column's rows, each word kept once.
type codes struct {
	words []string          // the first is "", no code
	at    []uint32          // index of each row's word
	index map[string]uint32 // of the words, once they are many
}

// fewWords is how many words are looked through one by one.
const fewWords = 8

// add appends the code of the next row.
func (s *codes) add(code string) {
	s.at = append(s.at, s.word(code))
}

// word is the index of a code.
func (s *codes) word(code string) uint32 {
	if code == "" {
		return 0
	}
	if s.index == nil {
		if i := slices.Index(s.words, code); i >= 0 {
			return uint32(i)
		}
	} else if i, ok := s.index[code]; ok {
		return i
	}
	if len(s.words) == 0 {
		s.words = append(s.words, "")
	}
	i := uint32(len(s.words))
	s.words = append(s.words, code)
	if len(s.words) > fewWords && s.index == nil {
		s.index = make(map[string]uint32)
		for j, w := range s.words {
			s.index[w] = uint32(j)
		}
	}
	if s.index != nil {
		s.index[code] = i
	}
	return i
}

// code is that of row i.
func (s *codes) code(i int) string {
	if s.at[i] == 0 {
		return ""
	}
	return s.words[s.at[i]]
}

// Code is the missing code of row i where its State is Missing, "" elsewhere.
func (c *Column) Code(i int) string { return c.codes.code(i) }
