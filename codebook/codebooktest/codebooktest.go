// Package codebooktest draws random codebooks for tests of what reads and writes
// them.
package codebooktest

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

// Documents draws documents that the codebook's JSON Schema accepts: every
// property that is known, in every shape it may have, now and when some are
// added. Tables have names that differ, and most tables' variables too. Few of
// them are good codebooks, for their values do not fit together.
func Documents(t testing.TB) *rapid.Generator[*document.Node] {
	m, schema := newMaker(t)
	return rapid.Custom(func(t *rapid.T) *document.Node {
		n := m.value(t, schema)
		named(t, n)
		return n
	})
}

type maker struct {
	defs map[string]any
}

func newMaker(t testing.TB) (*maker, map[string]any) {
	t.Helper()
	data, err := json.Marshal(codebook.JSONSchema())
	if err != nil {
		t.Fatal(err)
	}
	var schema map[string]any
	if err := json.Unmarshal(data, &schema); err != nil {
		t.Fatal(err)
	}
	defs, _ := schema["$defs"].(map[string]any)
	return &maker{defs}, schema
}

// Texts are texts that a cell could lose.
var Texts = []string{
	"", " ", "5", "007", "1.10", "-0.5", "1e3", "true", "FALSE", "no", "null", "2024-01-01", "=1+1", "'a", `"a"`, `"`, `a "b" c`, "a; b", "a,b", ";", "a\nb", " a", "a ", "\u00a0a",
	"a\tb", "\t", "a\rb", "a\r\nb", "\x01", "\u0085", "\u2028", "\ufeff", "\ufffe", "\ufffd", "_x0041_", "_x000D_", "<&>", "{}", "[]", "x = 1", "S1", "größe", "足", "\U0001f9b6", "+44", "@a", "-",
	"constraints.x", "further properties", "table",
}

func (m *maker) text(t *rapid.T) string {
	s := rapid.OneOf(rapid.SampledFrom(Texts), rapid.StringMatching(`[a-zA-Z0-9 ;,"=._-]{0,8}`), rapid.String()).Draw(t, "text")
	return strings.ToValidUTF8(s, "?")
}

func text(s string) *document.Node {
	return &document.Node{Kind: document.Text, Text: s, Quoted: true}
}

func (m *maker) scalar(t *rapid.T, kind string) *document.Node {
	switch kind {
	case "number":
		return &document.Node{Kind: document.Number, Text: rapid.SampledFrom([]string{"0", "1", "-1.50", "1e3", "9007199254740993", "0.1"}).Draw(t, "number")}
	case "integer":
		return &document.Node{Kind: document.Number, Text: rapid.SampledFrom([]string{"0", "1", "3", "12345678901234567890"}).Draw(t, "integer")}
	case "boolean":
		return &document.Node{Kind: document.Bool, Text: rapid.SampledFrom([]string{"true", "false"}).Draw(t, "boolean")}
	case "null":
		return &document.Node{Kind: document.Null, Text: "null"}
	}
	return text(m.text(t))
}

// anything draws a value of any shape.
func (m *maker) anything(t *rapid.T, depth int) *document.Node {
	kinds := []string{"string", "string", "number", "boolean", "null"}
	if depth > 0 {
		kinds = append(kinds, "list", "map")
	}
	switch kind := rapid.SampledFrom(kinds).Draw(t, "kind"); kind {
	case "list":
		n := &document.Node{Kind: document.List}
		for range rapid.IntRange(0, 3).Draw(t, "items") {
			n.Items = append(n.Items, m.anything(t, depth-1))
		}
		return n
	case "map":
		n := &document.Node{Kind: document.Map}
		for range rapid.IntRange(0, 3).Draw(t, "pairs") {
			m.pair(n, m.text(t), m.anything(t, depth-1))
		}
		return n
	default:
		return m.scalar(t, kind)
	}
}

func (m *maker) pair(n *document.Node, key string, v *document.Node) {
	if n.Get(key) == nil {
		n.Pairs = append(n.Pairs, document.Pair{Key: key, Value: v})
	}
}

// value draws a value of a schema.
func (m *maker) value(t *rapid.T, schema any) *document.Node {
	s, ok := schema.(map[string]any)
	if !ok || len(s) == 0 || s["type"] == nil && s["$ref"] == nil && s["anyOf"] == nil && s["enum"] == nil {
		return m.anything(t, 2)
	}
	if ref, ok := s["$ref"].(string); ok {
		return m.value(t, m.defs[strings.TrimPrefix(ref, "#/$defs/")])
	}
	if either, ok := s["anyOf"].([]any); ok {
		return m.value(t, rapid.SampledFrom(either).Draw(t, "either"))
	}
	if enum, ok := s["enum"].([]any); ok {
		return text(rapid.SampledFrom(enum).Draw(t, "word").(string))
	}
	kind, ok := s["type"].(string)
	if list, several := s["type"].([]any); several {
		kind = rapid.SampledFrom(list).Draw(t, "type").(string)
	} else if !ok {
		return m.anything(t, 2)
	}
	switch kind {
	case "array":
		n := &document.Node{Kind: document.List}
		for range rapid.IntRange(0, 3).Draw(t, "items") {
			n.Items = append(n.Items, m.value(t, s["items"]))
		}
		return n
	case "object":
		return m.object(t, s)
	}
	return m.scalar(t, kind)
}

func (m *maker) object(t *rapid.T, s map[string]any) *document.Node {
	n := &document.Node{Kind: document.Map}
	properties, _ := s["properties"].(map[string]any)
	required, _ := s["required"].([]any)
	for _, key := range slices.Sorted(maps.Keys(properties)) {
		if slices.Contains(required, any(key)) || rapid.IntRange(0, 3).Draw(t, "has") == 0 {
			v := m.value(t, properties[key])
			if key == "type" && v.Kind == document.Text {
				v.Text = rapid.SampledFrom([]string{"string", "integer", "number", "boolean", "date", "other"}).Draw(t, "type")
			}
			m.pair(n, key, v)
		}
	}
	if s["patternProperties"] != nil && rapid.IntRange(0, 3).Draw(t, "extra") == 0 {
		m.pair(n, rapid.SampledFrom([]string{"x-note", "x-a.b", "_kept", "x- y = \"z\""}).Draw(t, "key"), m.anything(t, 2))
	}
	return n
}

// named gives the tables names that differ, as every good codebook does, and
// most lists of variables too.
func named(t *rapid.T, root *document.Node) {
	for i, r := range root.Get("resources").Items {
		rename(r, i)
		if fields := r.Get("schema"); fields != nil && rapid.IntRange(0, 4).Draw(t, "named") > 0 {
			for j, f := range fields.Get("fields").Items {
				rename(f, j)
			}
		}
	}
}

func rename(n *document.Node, i int) {
	n.Get("name").Text = Texts[14+i] + string(rune('a'+i))
}
