package document

import (
	"strings"

	"github.com/goccy/go-yaml/token"
)

// refused are the tokens of YAML's rarer parts, with the reason given.
var refused = map[token.Type]string{
	token.AnchorType:     "anchors (&) are not accepted: write the value out where it is needed",
	token.AliasType:      "aliases (*) are not accepted: write the value out, or quote a text that begins with *",
	token.MergeKeyType:   "merge keys (<<) are not accepted: write the keys out",
	token.TagType:        "tags (!) are not accepted: quote a text that begins with !",
	token.DirectiveType:  "directives (%) are not accepted",
	token.MappingKeyType: `keys that begin with "?" are not accepted`,
}

// checkTokens refuses what this package does not read, counts the scalars and
// limits the depth.
func (y *yamlReader) checkTokens(tokens token.Tokens) error {
	var blocks []int // columns at which open blocks began
	flow, content, headers, line := 0, false, 0, 0
	var keys keyCounter
	for i, t := range tokens {
		at := y.offset(t)
		if reason, ok := refused[t.Type]; ok {
			return y.source.fault(at, "%s", reason)
		}
		block := i > 0 && (tokens[i-1].Type == token.LiteralType || tokens[i-1].Type == token.FoldedType)
		switch t.Type {
		case token.InvalidType:
			return y.invalid(t, at)
		case token.CommentType:
			continue
		case token.DocumentHeaderType:
			if headers++; headers > 1 || content {
				return y.source.fault(at, "a second document, expected one")
			}
			continue
		case token.DocumentEndType:
			continue
		case token.MappingStartType, token.SequenceStartType:
			flow++
		case token.MappingEndType, token.SequenceEndType:
			flow--
		case token.NullType, token.InfinityType, token.NanType, token.IntegerType, token.BinaryIntegerType,
			token.OctetIntegerType, token.HexIntegerType, token.FloatType, token.StringType, token.BoolType,
			token.SingleQuoteType, token.DoubleQuoteType:
			y.scalars++
		}
		var before *token.Token
		if i > 0 {
			before = tokens[i-1]
		}
		if keys.add(t, before, t.Position.Line > line) {
			return y.source.fault(at, "more than %d keys in one map", MaxKeys)
		}
		content = true
		if !block {
			if err := y.indent(t, at); err != nil {
				return err
			}
			entry := t.Type == token.SequenceEntryType || i > 0 && tokens[i-1].Type == token.SequenceEntryType
			if flow == 0 && (entry || t.Position.Line > line) {
				for len(blocks) > 0 && blocks[len(blocks)-1] >= t.Position.Column {
					blocks = blocks[:len(blocks)-1]
				}
				blocks = append(blocks, t.Position.Column)
			}
		}
		line = t.Position.Line
		if max(flow, 0)+len(blocks) > MaxDepth+1 { // the last block may be a scalar
			return y.source.fault(at, "more than %d levels deep", MaxDepth)
		}
	}
	return nil
}

// indent refuses a tab before the first token of a line.
func (y *yamlReader) indent(t *token.Token, at int) error {
	p := y.source.at(at)
	if p.Line != t.Position.Line {
		return nil
	}
	begin := y.source.lines[p.Line-1]
	lead := string(y.source.data[begin:at])
	if strings.TrimLeft(lead, " \t") == "" {
		if tab := strings.IndexByte(lead, '\t'); tab >= 0 {
			return y.source.fault(begin+tab, "a tab indents the line, expected spaces")
		}
	}
	return nil
}

// invalid is a token that the lexer refused.
func (y *yamlReader) invalid(t *token.Token, at int) error {
	if err := y.indent(t, at); err != nil {
		return err
	}
	line := y.source.line(t.Position.Line)
	if lead := string(line[:len(line)-len(strings.TrimLeft(string(line), " \t"))]); strings.Contains(lead, "\t") {
		tab := strings.IndexByte(lead, '\t')
		return y.source.fault(y.source.lines[t.Position.Line-1]+tab, "a tab indents the line, expected spaces")
	}
	return y.source.fault(at, "not valid YAML: %s", firstLine(t.Error))
}
