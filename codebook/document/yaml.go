package document

import (
	"bytes"
	"errors"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

// parseYAML reads YAML: the tokens are checked first, so that the parser meets
// neither a construct that is refused nor a depth it cannot hold.
func parseYAML(s *source) (n *Node, err error) {
	defer func() {
		if p := recover(); p != nil {
			n, err = nil, &Error{Position: Position{File: s.file}, Message: "cannot be read as YAML"}
		}
	}()
	if err := s.checkMarks(); err != nil {
		return nil, err
	}
	tokens := lexer.Tokenize(string(s.data))
	y := &yamlReader{source: s}
	if err := y.checkTokens(tokens); err != nil {
		return nil, err
	}
	file, err := parser.Parse(tokens, 0, parser.AllowDuplicateMapKey())
	if err != nil {
		return nil, y.syntax(err)
	}
	var body ast.Node
	for _, d := range file.Docs {
		if d.Body == nil {
			continue
		}
		if body != nil {
			return nil, s.fault(y.offset(d.Body.GetToken()), "a second document, expected one")
		}
		body = d.Body
	}
	if body == nil {
		return nil, s.fault(0, "the document is empty")
	}
	n, err = y.node(body, 1)
	if err != nil {
		return nil, err
	}
	if y.scalars != y.read {
		return nil, &Error{Position: Position{File: s.file}, Message: "cannot be read as YAML: parts of it have no place in any map or list"}
	}
	return n, nil
}

type yamlReader struct {
	source  *source
	scalars int // among the tokens
	read    int // into nodes
}

// offset is the byte at which a token begins. The lexer counts tabs and
// indented lines in its own way, so the token's text is looked for on its line.
func (y *yamlReader) offset(t *token.Token) int {
	at := y.source.offset(t.Position.Line, t.Position.Column)
	text := strings.TrimLeft(t.Origin, " \t\n")
	if end := strings.IndexByte(text, '\n'); end >= 0 {
		text = text[:end]
	}
	text = strings.TrimRight(text, " \t")
	if text == "" || bytes.HasPrefix(y.source.data[at:], []byte(text)) || t.Position.Line > len(y.source.lines) || t.Position.Line < 1 {
		return at
	}
	begin := y.source.lines[t.Position.Line-1]
	line := y.source.line(t.Position.Line)
	if i := bytes.Index(line[min(at-begin, len(line)):], []byte(text)); i >= 0 {
		return at + i
	}
	if i := bytes.Index(line, []byte(text)); i >= 0 {
		return begin + i
	}
	return at
}

// syntax is a fault of the parser, in its own words.
func (y *yamlReader) syntax(err error) error {
	var syntax *yaml.SyntaxError
	if !errors.As(err, &syntax) || syntax.Token == nil {
		return &Error{Position: Position{File: y.source.file}, Message: "not valid YAML: " + firstLine(err.Error())}
	}
	at := y.offset(syntax.Token)
	hint := ""
	if bytes.ContainsRune(y.source.line(y.source.at(at).Line), '\t') {
		hint = `; write a tab in double quotes as \t`
	}
	return y.source.fault(at, "not valid YAML: %s%s", firstLine(syntax.Message), hint)
}

func firstLine(s string) string {
	s, _, _ = strings.Cut(s, "\n")
	return s
}

// node turns the parser's tree into nodes.
func (y *yamlReader) node(n ast.Node, depth int) (*Node, error) {
	out := &Node{source: y.source, start: -1}
	if n == nil {
		return nil, &Error{Position: Position{File: y.source.file}, Message: "cannot be read as YAML"}
	}
	at := y.offset(n.GetToken())
	out.Position = y.source.at(at)
	if _, leaf := n.(ast.ScalarNode); depth > MaxDepth && !leaf {
		return nil, y.source.fault(at, "more than %d levels deep", MaxDepth)
	}
	switch n := n.(type) {
	case *ast.MappingNode:
		return y.mapping(out, n.Values, depth)
	case *ast.MappingValueNode:
		return y.mapping(out, []*ast.MappingValueNode{n}, depth)
	case *ast.SequenceNode:
		out.Kind = List
		for _, item := range n.Values {
			child, err := y.node(item, depth+1)
			if err != nil {
				return nil, err
			}
			out.Items = append(out.Items, child)
		}
		return out, nil
	case *ast.LiteralNode:
		y.read++
		out.Kind, out.Quoted, out.style = Text, true, literal
		if n.Start.Type == token.FoldedType {
			out.style = folded
		}
		out.Text = n.Value.Value
		return out, y.verifyBlock(out, at)
	case ast.ScalarNode:
		return out, y.scalar(out, n.GetToken(), at)
	}
	return nil, y.source.fault(at, "cannot be read as YAML here")
}

// scalar reads a text, number, boolean or nothing.
func (y *yamlReader) scalar(out *Node, t *token.Token, at int) error {
	out.Text, out.start = t.Value, at
	switch t.Type {
	case token.ImplicitNullType:
		out.Text, out.start = "", -1
		return nil
	case token.SingleQuoteType:
		out.Kind, out.Quoted, out.style, out.start = Text, true, single, at+1
	case token.DoubleQuoteType:
		out.Kind, out.Quoted, out.style, out.start = Text, true, double, at+1
	default:
		out.Kind = plainKind(out.Text)
	}
	y.read++
	return y.verify(out)
}

func (y *yamlReader) mapping(out *Node, values []*ast.MappingValueNode, depth int) (*Node, error) {
	out.Kind = Map
	seen := newKeys(y.source)
	for i, v := range values {
		key, ok := v.Key.(ast.ScalarNode)
		if !ok {
			return nil, y.source.fault(y.offset(v.Key.GetToken()), "a key that is not a text")
		}
		at := y.offset(key.GetToken())
		name := &Node{}
		if err := y.scalar(name, key.GetToken(), at); err != nil {
			return nil, err
		}
		pair := Pair{Key: name.Text, Position: y.source.at(at)}
		if name.Kind != Text {
			return nil, y.source.fault(at, "key %s is %v, expected a text: quote it", name.Text, name.Kind)
		}
		if i == 0 && y.source.data[min(y.source.offset(out.Position.Line, out.Position.Column), len(y.source.data)-1)] != '{' {
			out.Position = pair.Position
		}
		if err := seen.add(pair); err != nil {
			return nil, err
		}
		value, err := y.node(v.Value, depth+1)
		if err != nil {
			return nil, err
		}
		if value.Kind == Null && value.Text == "" {
			value.Position = pair.Position
		}
		pair.Value = value
		out.Pairs = append(out.Pairs, pair)
	}
	return out, nil
}
