package document

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

// compiled compiles a schema by an independent implementation of JSON Schema.
func compiled(t testing.TB, v any) *jsonschema.Schema {
	t.Helper()
	data, err := json.Marshal(Schema(v))
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	if err := c.AddResource("schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("schema.json")
	if err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	return s
}

// plainValue is a node as JSON values: what a schema sees.
func plainValue(n *Node) any {
	switch n.Kind {
	case Null:
		return nil
	case Bool:
		return strings.EqualFold(n.Text, "true")
	case Number:
		return json.Number(n.Text)
	case Text:
		return n.Text
	case List:
		list := make([]any, len(n.Items))
		for i, item := range n.Items {
			list[i] = plainValue(item)
		}
		return list
	}
	m := map[string]any{}
	for _, p := range n.Pairs {
		m[p.Key] = plainValue(p.Value)
	}
	return m
}

// TestSchemaAgrees wants the schema and Decode to accept and to refuse the
// same documents.
func TestSchemaAgrees(t *testing.T) {
	schema := compiled(t, study{})
	for _, c := range []struct {
		text string
		good bool
	}{
		{"id: a", true},
		{"id: '1'", true},
		{"{}", false},
		{"[]", false},
		{"id: 1", false},
		{"id: true", false},
		{"id: null", false},
		{"id: [a]", false},
		{"{id: a, idd: b}", false},
		{"{id: a, x-idd: b, _c: [1]}", true},
		{"{id: a, title: T}", true},
		{"{id: a, title: 1}", false},
		{"{id: a, ties: efron}", true},
		{"{id: a, ties: exact}", false},
		{"{id: a, ties: Efron}", false},
		{"{id: a, level: 0.5}", true},
		{"{id: a, level: 5e-1}", true},
		{"{id: a, level: 0}", false},
		{"{id: a, level: 1}", false},
		{"{id: a, level: '0.5'}", false},
		{"{id: a, seed: -3}", true},
		{"{id: a, seed: 1.5}", false},
		{"{id: a, seed: x}", false},
		{"{id: a, strict: true}", true},
		{"{id: a, strict: True}", true},
		{"{id: a, strict: 1}", false},
		{"{id: a, cluster: x}", true},
		{"{id: a, cluster: null}", false},
		{"{id: a, by: x}", true},
		{"{id: a, by: [x, b]}", true},
		{"{id: a, by: []}", true},
		{"{id: a, by: [1]}", false},
		{"{id: a, by: 1}", false},
		{"{id: a, by: {x: b}}", false},
		{"{id: a, sites: [x]}", true},
		{"{id: a, sites: x}", false},
		{"{id: a, season: {name: b}}", true},
		{"{id: a, season: {weeks: 1}}", false},
		{"{id: a, season: {name: b, weeks: 0}}", false},
		{"{id: a, season: {name: b, weeks: 40}}", true},
		{"{id: a, season: {name: b, x-weeks: 40}}", false},
		{"{id: a, seasons: [{name: b}, {name: c}]}", true},
		{"{id: a, seasons: {name: b}}", false},
		{"{id: a, labels: {b: c}}", true},
		{"{id: a, labels: {b: 1}}", false},
		{"{id: a, derive: {b: c, d: e}}", true},
		{"{id: a, derive: {b: {c: d}}}", false},
		{"{id: a, scale: 1.5}", true},
		{"{id: a, scale: b}", true},
		{"{id: a, scale: true}", true},
		{"{id: a, scale: null}", false},
		{"{id: a, scale: [1]}", false},
		{"{id: a, methods: [exact, normal]}", true},
		{"{id: a, methods: [exact, other]}", false},
		{"{id: a, raw: null}", true},
		{"{id: a, raw: [1, {b: c}]}", true},
		{"{id: a, parts: [{id: b, parts: [{id: c}]}]}", true},
		{"{id: a, parts: [{id: b, parts: [{}]}]}", false},
		{"{id: a, At: x}", false},
		{"{id: a, Computed: 1}", false},
	} {
		n, err := Parse("f.yaml", []byte(c.text))
		if err != nil {
			t.Fatalf("%s: %v", c.text, err)
		}
		decoded := Decode(n, new(study))
		checked := schema.Validate(plainValue(n))
		if (decoded == nil) != c.good || (checked == nil) != c.good {
			t.Errorf("%s: want accepted %v\n\tDecode: %v\n\tschema: %v", c.text, c.good, decoded, checked)
		}
	}
}

// TestSchemaSeesLess lists what Decode refuses and a schema cannot: the
// exceptions that Schema names.
func TestSchemaSeesLess(t *testing.T) {
	schema := compiled(t, study{})
	for _, text := range []string{
		"id: no", "id: 2024-03-01", "{id: a, seed: 1.0}", "{id: a, seed: 1e3}", "{id: a, seed: 99999999999999999999}",
	} {
		n, err := Parse("f.yaml", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if Decode(n, new(study)) == nil {
			t.Errorf("%s is decoded", text)
		}
		if err := schema.Validate(plainValue(n)); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
}

func TestSchemaShape(t *testing.T) {
	type inner struct {
		A int `doc:"a,required" about:"An A."`
	}
	got, err := json.Marshal(Schema(struct {
		In  inner   `doc:"in" about:"Inside."`
		All []inner `doc:"all"`
		E   even    `doc:"e"`
	}{}))
	if err != nil {
		t.Fatal(err)
	}
	want := `{"$defs":{"inner":{"additionalProperties":false,"properties":{"a":{"description":"An A.","type":"integer"}},` +
		`"required":["a"],"type":"object"}},"$schema":"https://json-schema.org/draft/2020-12/schema","additionalProperties":false,` +
		`"properties":{"all":{"items":{"$ref":"#/$defs/inner"},"type":"array"},"e":{"multipleOf":2,"type":"integer"},` +
		`"in":{"$ref":"#/$defs/inner","description":"Inside."}},"type":"object"}`
	if string(got) != want {
		t.Errorf("schema\n%s\nwant\n%s", got, want)
	}
	for range 5 {
		again, _ := json.Marshal(Schema(study{}))
		first, _ := json.Marshal(Schema(&study{}))
		if !bytes.Equal(first, again) {
			t.Fatal("the same type has two schemas")
		}
	}
}

// outer describes itself with schemas of other types, whose definitions must
// move to the root.
type outer struct{ season *season }

func (o *outer) UnmarshalDocument(n *Node) error {
	var list []season
	if n.Kind == List {
		return Decode(n, &list)
	}
	o.season = new(season)
	return Decode(n, o.season)
}

func (outer) DocumentSchema() map[string]any {
	return map[string]any{"oneOf": []any{Schema([]season{}), Schema(season{})}}
}

func TestSchemaOfDescriber(t *testing.T) {
	type holder struct {
		O outer  `doc:"o"`
		S season `doc:"s"`
	}
	schema := compiled(t, holder{})
	for text, good := range map[string]bool{
		"o: [{name: a}]": true, "o: {name: a}": true, "o: [{}]": false, "o: {}": false, "{o: [], s: {name: a}}": true, "s: {}": false,
	} {
		n, err := Parse("", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(plainValue(n)); (err == nil) != good {
			t.Errorf("%s: schema says %v", text, err)
		}
		if err := Decode(n, new(holder)); (err == nil) != good {
			t.Errorf("%s: Decode says %v", text, err)
		}
	}
}

// FuzzAgree reads any JSON: what Decode accepts, the schema accepts too.
func FuzzAgree(f *testing.F) {
	for _, text := range []string{
		`{"id":"a"}`, `{"id":"a","by":["x"],"level":0.5,"derive":{"a":"b"}}`, `{"id":"a","parts":[{"id":"b"}],"season":{"name":"x","weeks":3}}`,
	} {
		f.Add([]byte(text))
	}
	schema := compiled(f, study{})
	f.Fuzz(func(t *testing.T, data []byte) {
		n, err := Parse("f.json", data)
		if err != nil {
			return
		}
		// Round trip: written again by the standard library, the document is
		// the same.
		again, err := json.Marshal(plainValue(n))
		if err != nil {
			t.Fatal(err)
		}
		m, err := Parse("f.json", again)
		if err != nil {
			t.Fatalf("%s: %v", again, err)
		}
		third, _ := json.Marshal(plainValue(m))
		if !bytes.Equal(again, third) {
			t.Fatalf("%s became %s", again, third)
		}
		if Decode(n, new(study)) != nil {
			return
		}
		if err := schema.Validate(plainValue(n)); err != nil {
			t.Fatalf("%s is decoded and breaks its schema: %v", data, err)
		}
	})
}
