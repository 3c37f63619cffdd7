package document

import (
	"github.com/goccy/go-yaml/token"
)

// checkMarks refuses, before the text is cut into tokens, what would take the
// lexer more time or memory than a document is worth: each token begins or ends
// at a mark, empty lines behind a block and "<" in a row take a time that grows
// with their square.
func (s *source) checkMarks() error {
	marks, empty, angles := 0, 0, 0
	for i, c := range s.data {
		switch c {
		case '\n':
			marks++
			empty++
			if empty > maxEmpty+1 {
				return s.fault(i, "more than %d empty lines in a row", maxEmpty)
			}
		case ' ', '\t':
		case '[', ']', '{', '}', ',', ':', '-', '?', '&', '*', '!', '|', '>', '#', '%', '@', '`', '\'', '"':
			marks++
			empty = 0
		default:
			empty = 0
		}
		if c != '<' {
			angles = 0
		} else if angles++; angles > maxAngles {
			return s.fault(i, `more than %d "<" in a row`, maxAngles)
		}
		if marks > MaxMarks {
			return s.fault(i, "more than %d commas, colons, brackets, quotes, dashes and line ends, which is more than is read of YAML; write the document as JSON", MaxMarks)
		}
	}
	return nil
}

// A keyCounter counts the keys of every map among tokens, by the column at
// which a block's keys stand or the level of the brackets. It may count the
// keys of maps at one column together only where they are one map.
type keyCounter struct {
	flow    []int
	columns map[int]int
	deepest int
}

// add takes the next token and reports whether its map has too many keys. key
// is the token before a colon.
func (k *keyCounter) add(t, key *token.Token, first bool) bool {
	if first && len(k.flow) == 0 {
		k.leave(t.Position.Column)
	}
	switch t.Type {
	case token.MappingStartType, token.SequenceStartType:
		k.flow = append(k.flow, 0)
	case token.MappingEndType, token.SequenceEndType:
		if len(k.flow) > 0 {
			k.flow = k.flow[:len(k.flow)-1]
		}
	case token.SequenceEntryType:
		if len(k.flow) == 0 {
			k.leave(t.Position.Column)
		}
	case token.MappingValueType:
		if n := len(k.flow); n > 0 {
			k.flow[n-1]++
			return k.flow[n-1] > MaxKeys
		}
		column := t.Position.Column
		if key != nil {
			column = key.Position.Column
		}
		if k.columns == nil {
			k.columns = map[int]int{}
		}
		k.deepest = max(k.deepest, column)
		k.columns[column]++
		return k.columns[column] > MaxKeys
	}
	return false
}

// leave forgets the maps that stand to the right of a column.
func (k *keyCounter) leave(column int) {
	if k.deepest <= column {
		return
	}
	deepest := 0
	for c := range k.columns {
		if c > column {
			delete(k.columns, c)
		} else {
			deepest = max(deepest, c)
		}
	}
	k.deepest = deepest
}
