package document

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
)

// parseJSON reads JSON by the standard library's tokens.
func parseJSON(s *source) (*Node, error) {
	var whole json.RawMessage
	if err := json.Unmarshal(s.data, &whole); err != nil {
		offset := len(s.data)
		var syntax *json.SyntaxError
		if errors.As(err, &syntax) && int(syntax.Offset) <= len(s.data) && syntax.Offset > 0 {
			offset = int(syntax.Offset) - 1
			if err.Error() == "unexpected end of JSON input" {
				offset = len(bytes.TrimRight(s.data, " \t\n"))
			}
		}
		return nil, s.fault(offset, "not valid JSON: %v", err)
	}
	r := &jsonReader{source: s, decoder: json.NewDecoder(bytes.NewReader(s.data))}
	r.decoder.UseNumber()
	return r.value(1)
}

type jsonReader struct {
	source  *source
	decoder *json.Decoder
	values  int
}

// next is the next token with the byte at which it begins.
func (r *jsonReader) next() (json.Token, int, error) {
	start := int(r.decoder.InputOffset())
	for start < len(r.source.data) && bytes.IndexByte([]byte(" \t\n,:"), r.source.data[start]) >= 0 {
		start++
	}
	token, err := r.decoder.Token()
	if err != nil {
		if errors.Is(err, io.EOF) {
			return nil, start, r.source.fault(start, "the document ends too early")
		}
		return nil, start, r.source.fault(start, "not valid JSON: %v", err)
	}
	return token, start, nil
}

func (r *jsonReader) value(depth int) (*Node, error) {
	token, start, err := r.next()
	if err != nil {
		return nil, err
	}
	return r.node(token, start, depth)
}

func (r *jsonReader) node(token json.Token, start, depth int) (*Node, error) {
	if r.values++; r.values > MaxValues {
		return nil, r.source.fault(start, "more than %d values", MaxValues)
	}
	n := &Node{Position: r.source.at(start), source: r.source, start: start}
	switch t := token.(type) {
	case nil:
		n.Kind, n.Text = Null, "null"
	case bool:
		n.Kind, n.Text = Bool, "false"
		if t {
			n.Text = "true"
		}
	case json.Number:
		n.Kind, n.Text = Number, t.String()
	case string:
		if err := r.surrogates(start); err != nil {
			return nil, err
		}
		n.Kind, n.Text, n.Quoted, n.style, n.start = Text, t, true, double, start+1
	case json.Delim:
		if depth > MaxDepth {
			return nil, r.source.fault(start, "more than %d levels deep", MaxDepth)
		}
		n.start = -1
		if t == '[' {
			n.Kind = List
			return n, r.list(n, depth)
		}
		n.Kind = Map
		return n, r.object(n, depth)
	}
	return n, nil
}

func (r *jsonReader) list(n *Node, depth int) error {
	for r.decoder.More() {
		item, err := r.value(depth + 1)
		if err != nil {
			return err
		}
		n.Items = append(n.Items, item)
	}
	_, _, err := r.next()
	return err
}

func (r *jsonReader) object(n *Node, depth int) error {
	seen := newKeys(r.source)
	for r.decoder.More() {
		token, start, err := r.next()
		if err != nil {
			return err
		}
		key, _ := token.(string)
		if err := r.surrogates(start); err != nil {
			return err
		}
		pair := Pair{Key: key, Position: r.source.at(start)}
		if err := seen.add(pair); err != nil {
			return err
		}
		if pair.Value, err = r.value(depth + 1); err != nil {
			return err
		}
		n.Pairs = append(n.Pairs, pair)
	}
	_, _, err := r.next()
	return err
}

// surrogates refuses half a character, which the standard library would
// replace without a word.
func (r *jsonReader) surrogates(start int) error {
	data := r.source.data
	for i := start + 1; i < len(data) && data[i] != '"'; i++ {
		if data[i] != '\\' {
			continue
		}
		n := escapeLength(data[i:])
		if n == 6 && surrogate(data[i:], "89abAB") || n == 6 && surrogate(data[i:], "cdefCDEF") {
			return r.source.fault(i, "half of a character: %s", data[i:i+6])
		}
		i += n - 1
	}
	return nil
}

// keys finds a key that stands twice.
type keys struct {
	source *source
	first  map[string]Position
}

func newKeys(s *source) *keys { return &keys{source: s, first: map[string]Position{}} }

func (k *keys) add(p Pair) error {
	if first, again := k.first[p.Key]; again {
		return &Error{
			Position: p.Position, Excerpt: k.source.excerpt(p.Position),
			Message: "key " + quote(p.Key) + " stands twice, first at " + Position{Line: first.Line, Column: first.Column}.String(),
		}
	}
	k.first[p.Key] = p.Position
	return nil
}
