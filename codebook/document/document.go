// Package document reads YAML and JSON strictly and knows, for every value,
// the line and column it came from.
package document

import "errors"

// A Position is a place in a file. Lines and columns count from 1.
type Position struct {
	File         string
	Line, Column int
}

// A Kind is the sort of a node.
type Kind uint8

// The sorts of node.
const (
	Null Kind = iota
	Bool
	Number
	Text
	List
	Map
)

// A Node is one value of a document.
type Node struct {
	Kind     Kind
	Position Position
	Text     string // scalar as written, without quotes
	Quoted   bool   // scalar stood in quotes or in a block
	Items    []*Node
	Pairs    []Pair
}

// A Pair is one key of a map with its value.
type Pair struct {
	Key      string
	Position Position // of the key
	Value    *Node
}

// A String is a text that remembers where it was written, so that a fault
// inside it (an expression, a variable's name) can be pointed at.
type String struct {
	Value    string
	Position Position // of the first character inside the quotes
}

// An Error is a fault at a place of a document.
type Error struct {
	Position Position
	Message  string // what was found and what was expected, lower case
	Nearest  string // the nearest valid word, or ""
	Excerpt  string // the line with a caret under the column, or ""
}

// Unmarshaler is a type that decodes itself from a node. Faults are *Error.
type Unmarshaler interface{ UnmarshalDocument(*Node) error }

// Describer is a type that gives its own JSON Schema.
type Describer interface{ DocumentSchema() map[string]any }

// Error formats e as file:line:column: message (did you mean "nearest"?).
func (e *Error) Error() string { return e.Message }

// Parse reads one YAML or JSON document.
func Parse(file string, data []byte) (*Node, error) { return nil, errors.New("not written") }

// Decode fills the struct, slice or map that into points to. Keys that the
// struct does not know are refused with the nearest known one.
func Decode(node *Node, into any) error { return errors.New("not written") }

// Schema returns the JSON Schema (2020-12) that accepts what Decode accepts
// into a value of v's type.
func Schema(v any) map[string]any { return nil }

// Nearest returns the word of words nearest to word by edit distance, or ""
// where none is near enough to be meant.
func Nearest(word string, words []string) string { return "" }
