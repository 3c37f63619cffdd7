// Package document reads YAML and JSON strictly and knows, for every value,
// the line and column it came from.
//
// Strict means that what could be read in two ways is refused, with its place
// and a way out:
//
//   - a key that stands twice in a map, a second document, anchors, aliases,
//     merge keys, tags, directives and explicit ("?") keys;
//   - tabs that indent, control characters, text that is not UTF-8;
//   - more than MaxDepth levels, MaxSize bytes or MaxValues values, and more of
//     a kind than its reader bears in a bounded time: see the limits;
//   - an unquoted word that some readers take for a number, a boolean, a date
//     or nothing (007, 1.10, no, 2024-03-01, ~) where a text is expected:
//     "quote it";
//   - a number that is not a plain decimal one (+1, .5, 0x1f, 1_000, .nan).
//
// A byte order mark and CRLF line ends are accepted. A file named *.json is
// JSON; any other is JSON if it is valid JSON as a whole, and YAML otherwise.
//
// Decode fills Go structs by their tags and Schema gives the JSON Schema of
// the same structs, so that the two agree by construction:
//
//	type Plan struct {
//		Title string           `doc:"title,required" about:"Heading of the report."`
//		Ties  string           `doc:"ties" enum:"efron|breslow"`
//		Level float64          `doc:"level" above:"0" below:"1"`
//		Keep  document.String  `doc:"keep"` // a text with its place
//		At    document.Position `doc:"-"`   // filled with the map's place
//	}
//
// The types understood are string, String, Scalar, bool, int, float64, structs
// (embedded ones inlined), pointers, slices, map[string]T, Ordered[T],
// OneOrMore[T], *Node, and any type that is an Unmarshaler.
package document

// Limits of a document.
const (
	MaxDepth  = 100     // levels of maps and lists
	MaxSize   = 4 << 20 // bytes
	MaxValues = 400_000 // texts, numbers, lists and maps of JSON

	// Of YAML alone, whose parser takes a time and memory that grow with them.
	MaxMarks  = 300_000 // commas, colons, brackets, quotes, dashes and line ends
	MaxKeys   = 5_000   // keys of one map
	maxEmpty  = 100     // empty lines in a row
	maxAngles = 200     // "<" in a row
)

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

// String is the word for k in messages, with its article.
func (k Kind) String() string {
	switch k {
	case Null:
		return "nothing"
	case Bool:
		return "a boolean"
	case Number:
		return "a number"
	case Text:
		return "a text"
	case List:
		return "a list"
	}
	return "a map"
}

// A Node is one value of a document.
type Node struct {
	Kind     Kind
	Position Position // of the first character; of a block, that of its "|" or ">"
	Text     string   // scalar as written, without quotes
	Quoted   bool     // scalar stood in quotes or in a block
	Items    []*Node
	Pairs    []Pair

	source *source
	start  int   // byte of the text's first character in the source; -1 if unknown
	style  style // how the text is written
}

// A Pair is one key of a map with its value.
type Pair struct {
	Key      string
	Position Position // of the key
	Value    *Node
}

// Get finds the value of a key; nil where there is none.
func (n *Node) Get(key string) *Node {
	for _, p := range n.Pairs {
		if p.Key == key {
			return p.Value
		}
	}
	return nil
}

// Keys lists a map's keys in the order written.
func (n *Node) Keys() []string {
	keys := make([]string, len(n.Pairs))
	for i, p := range n.Pairs {
		keys[i] = p.Key
	}
	return keys
}

// Unmarshaler is a type that decodes itself from a node. Faults are *Error.
type Unmarshaler interface{ UnmarshalDocument(*Node) error }

// Describer is a type that gives its own JSON Schema. It may use Schema for
// the types it is made of.
type Describer interface{ DocumentSchema() map[string]any }
