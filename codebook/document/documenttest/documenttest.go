// Package documenttest helps tests of packages that decode documents: texts with
// marks at their faults, and JSON Schemas compiled by another implementation.
package documenttest

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"heelcohort/codebook/document"
)

// A Fault is one that a marked text must have.
type Fault struct {
	Line, Column int
	Parts        []string // of the message, in order
}

// Unmark takes the marks out of a text: ¦ stands before the faulty character
// and "# want: message" ends its line, … standing for any words.
func Unmark(t testing.TB, text string) (string, []Fault) {
	t.Helper()
	var want []Fault
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		line, message, faulty := strings.Cut(line, "# want: ")
		before, after, marked := strings.Cut(line, "¦")
		if faulty != marked || strings.Contains(after, "¦") {
			t.Fatalf("line %d does not have one mark and one wanted message: %s", i+1, lines[i])
		}
		if faulty {
			lines[i] = strings.TrimRight(before+after, " ")
			want = append(want, Fault{i + 1, len([]rune(before)) + 1, strings.Split(message, "…")})
		}
	}
	return strings.Join(lines, "\n"), want
}

// Compile compiles a JSON Schema by an independent implementation.
func Compile(t testing.TB, schema []byte) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(schema))
	if err != nil {
		t.Fatal(err)
	}
	const name = "tested.schema.json"
	c := jsonschema.NewCompiler()
	if err := c.AddResource(name, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Value is a node as JSON values: what a schema sees.
func Value(n *document.Node) any {
	switch n.Kind {
	case document.Null:
		return nil
	case document.Bool:
		return strings.EqualFold(n.Text, "true")
	case document.Number:
		return json.Number(n.Text)
	case document.Text:
		return n.Text
	case document.List:
		list := make([]any, len(n.Items))
		for i, item := range n.Items {
			list[i] = Value(item)
		}
		return list
	}
	m := map[string]any{}
	for _, p := range n.Pairs {
		m[p.Key] = Value(p.Value)
	}
	return m
}
