package document

import (
	"regexp"
	"strings"

	"github.com/goccy/go-yaml"
)

// EncodeYAML writes a document as YAML, its keys in the order of the tree.
// Texts stand in double quotes unless every reader of YAML takes them for
// texts. What is written is read again and compared; a document with characters
// that would not come back is written as JSON, which is YAML too.
func EncodeYAML(n *Node) ([]byte, error) {
	value, err := yamlValue(n, true)
	if err != nil {
		return nil, err
	}
	data, err := yaml.MarshalWithOptions(value, yaml.Indent(2), yaml.IndentSequence(true))
	if err != nil {
		return nil, &Error{Message: "cannot be written as YAML: " + firstLine(err.Error())}
	}
	// The library escapes some control characters in ways that its reader does
	// not undo. JSON is YAML too.
	if back, err := Parse("", data); err != nil || !Equal(n, back) {
		return EncodeJSON(n)
	}
	return data, nil
}

// A yamlScalar is a piece of YAML as it is to stand in the file.
type yamlScalar string

// MarshalYAML gives the piece itself.
func (s yamlScalar) MarshalYAML() ([]byte, error) { return []byte(s), nil }

// yamlValue makes what the library writes.
func yamlValue(n *Node, root bool) (any, error) {
	if text, ok := flow(n); ok && !root {
		return yamlScalar(text), nil
	}
	switch n.Kind {
	case List:
		items := make([]any, len(n.Items))
		for i, item := range n.Items {
			v, err := yamlValue(item, false)
			if err != nil {
				return nil, err
			}
			items[i] = v
		}
		return items, nil
	case Map:
		pairs := make(yaml.MapSlice, len(n.Pairs))
		for i, p := range n.Pairs {
			if yamlText(p.Key) != p.Key { // the library quotes keys by rules of its own
				text, err := CompactJSON(n)
				return yamlScalar(text), err
			}
			v, err := yamlValue(p.Value, false)
			if err != nil {
				return nil, err
			}
			pairs[i] = yaml.MapItem{Key: p.Key, Value: v}
		}
		return pairs, nil
	case Text:
		return yamlScalar(yamlText(n.Text)), nil
	}
	text, err := scalarJSON(n)
	return yamlScalar(text), err
}

// plainText matches the texts that need no quotes, other readers' words aside.
var plainText = regexp.MustCompile(`^[\p{L}$_][\p{L}\p{N} _./$()%+,;-]*$`)

// yamlText is a text without quotes where no reader can mistake it, and in
// double quotes otherwise.
func yamlText(text string) string {
	if plainText.MatchString(text) && !strings.HasSuffix(text, " ") && plainKind(text) == Text && !ambiguous(text) && len(text) < 400 {
		return text
	}
	return QuoteJSON(text)
}

// flow writes a short list or map of scalars on one line.
func flow(n *Node) (string, bool) {
	const longest = 80
	if n.Kind < List || n.Kind == Map && len(n.Pairs) > 3 {
		return "", false
	}
	var parts []string
	add := func(key string, v *Node) bool {
		if v.Kind >= List {
			return false
		}
		text := yamlText(v.Text)
		if v.Kind != Text {
			var err error
			if text, err = scalarJSON(v); err != nil {
				return false
			}
		} else if strings.Contains(text, ",") {
			text = QuoteJSON(v.Text)
		}
		parts = append(parts, key+text)
		return true
	}
	for _, item := range n.Items {
		if !add("", item) {
			return "", false
		}
	}
	for _, p := range n.Pairs {
		if yamlText(p.Key) != p.Key || strings.Contains(p.Key, ",") || !add(p.Key+": ", p.Value) {
			return "", false
		}
	}
	text := "[" + strings.Join(parts, ", ") + "]"
	if n.Kind == Map {
		text = "{" + strings.Join(parts, ", ") + "}"
	}
	return text, len(text) <= longest
}
