package result

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"
)

// compiledSchema is the committed schema, ready to validate.
func compiledSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource(SchemaID, doc); err != nil {
		t.Fatal(err)
	}
	compiled, err := compiler.Compile(SchemaID)
	if err != nil {
		t.Fatal(err)
	}
	return compiled
}

// TestRoundTrip: whatever is sealed validates against the schema and reads
// back as it was, to the last bit; a second writing gives the same bytes.
func TestRoundTrip(t *testing.T) {
	compiled := compiledSchema(t)
	rapid.Check(t, func(t *rapid.T) {
		res := drawResults(t)
		if err := res.Seal(); err != nil {
			t.Fatal(err)
		}
		var first, second bytes.Buffer
		if err := res.WriteJSON(&first); err != nil {
			t.Fatal(err)
		}
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(first.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		if err := compiled.Validate(doc); err != nil {
			t.Fatalf("schema: %v", err)
		}
		back, err := ReadJSON(bytes.NewReader(first.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		sameBits := cmp.Comparer(func(a, b Number) bool {
			return math.Float64bits(float64(a)) == math.Float64bits(float64(b)) || !a.Present() && !b.Present()
		})
		if diff := cmp.Diff(res, back, sameBits); diff != "" {
			t.Fatalf("read back differently (-written +read):\n%s", diff)
		}
		if err := back.WriteJSON(&second); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(first.Bytes(), second.Bytes()) {
			t.Fatal("written again with other bytes")
		}
	})
}

// TestSchemaNamesEveryField: the schema and the types list the same keys in
// the same order.
func TestSchemaNamesEveryField(t *testing.T) {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	root := doc.(map[string]any)
	defs := root["$defs"].(map[string]any)
	for _, typ := range []reflect.Type{
		reflect.TypeFor[Results](), reflect.TypeFor[Setting](), reflect.TypeFor[Count](), reflect.TypeFor[FlowStep](),
		reflect.TypeFor[Analysis](), reflect.TypeFor[Variable](), reflect.TypeFor[Level](), reflect.TypeFor[Removed](),
		reflect.TypeFor[Reference](), reflect.TypeFor[Group](), reflect.TypeFor[Row](), reflect.TypeFor[Instrument](), reflect.TypeFor[MissingCount](),
	} {
		object := root
		if typ != reflect.TypeFor[Results]() {
			object, _ = defs[typ.Name()].(map[string]any)
		}
		var fields []any
		properties, _ := object["properties"].(map[string]any)
		for i := range typ.NumField() {
			name := jsonName(typ.Field(i))
			fields = append(fields, name)
			if _, ok := properties[name]; !ok {
				t.Errorf("%s: the schema has no key %q", typ.Name(), name)
			}
		}
		if diff := cmp.Diff(fields, object["required"]); diff != "" {
			t.Errorf("%s: required keys (-type +schema):\n%s", typ.Name(), diff)
		}
		if len(properties) != len(fields) || object["additionalProperties"] != false {
			t.Errorf("%s: the schema allows other keys", typ.Name())
		}
	}
}

func TestSchemaRefuses(t *testing.T) {
	compiled := compiledSchema(t)
	for _, change := range [][2]string{
		{`"p": `, `"q": `},
		{`"estimate":1.5`, `"estimate":"1.5"`},
		{`"estimate":1.5`, `"estimate":"Inf"`},
		{`"n":12`, `"n":-12`},
		{`"p":0.25`, `"p":1.25`},
		{`"line":7`, `"line":7.5`},
		{`"computed": true`, `"computed": null`},
		{SchemaID, "urn:another"},
	} {
		text := sampleJSON(t)
		doc, err := jsonschema.UnmarshalJSON(strings.NewReader(strings.Replace(text, change[0], change[1], 1)))
		if err != nil {
			t.Fatal(err)
		}
		changed := strings.Contains(text, change[0])
		if err := compiled.Validate(doc); changed && err == nil {
			t.Errorf("%s for %s: accepted", change[1], change[0])
		}
	}
}

// sampleJSON is a small result as text.
func sampleJSON(t testing.TB) string {
	t.Helper()
	var out bytes.Buffer
	if err := sample().WriteJSON(&out); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// sample is a result with one row.
func sample() *Results {
	r := NewRow("table-3", "crude", "odds ratio")
	r.Variable, r.Term, r.Estimate, r.Lower, r.Upper, r.Level = "arch", "pronated", 1.5, 0.75, Number(math.Inf(1)), 0.95
	r.P, r.N, r.Line, r.Method = 0.25, 12, 7, "exact <mid-P> & more"
	res := &Results{
		Program: "heelcohort 0.1.0", Computed: true, Analyses: []Analysis{{ID: "table-3", Kind: "association"}}, Rows: []Row{r},
	}
	if err := res.Seal(); err != nil {
		panic(err)
	}
	return res
}

func TestWriteJSONLayout(t *testing.T) {
	const want = `{
 "schema": "urn:heelcohort:results:3",
 "program": "heelcohort 0.1.0",
 "title": "",
 "plan": "",
 "codebook": "",
 "computed": true,
 "settings": [],
 "caution": "",
 "findings": [],
 "exceptions": [],
 "flow": [],
 "instruments": [],
 "analyses": [
  {
   "id": "table-3",
   "kind": "association",
   "title": "",
   "line": 0,
   "unit": "",
   "settings": [],
   "variables": [],
   "accounting": [],
   "warnings": [],
   "methods": "",
   "references": [],
   "figures": []
  }
 ],
 "rows": [
  {"id":"table-3/crude/arch:pronated/odds ratio","analysis":"table-3","part":"crude","groups":[],"variable":"arch",` +
		`"term":"pronated","measure":"odds ratio","at":null,"estimate":1.5,"lower":0.75,"upper":"unbounded","se":null,` +
		`"level":0.95,"p":0.25,"statistic":null,"df":null,"n":12,"events":null,"censored":null,"person_time":null,` +
		`"unit":"","method":"exact <mid-P> & more","reason":"","warnings":[],"line":7}
 ]
}
`
	if diff := cmp.Diff(want, sampleJSON(t)); diff != "" {
		t.Errorf("layout (-want +got):\n%s", diff)
	}
}

// TestReadJSONRefuses: nothing absent, unknown or null is taken for a value.
func TestReadJSONRefuses(t *testing.T) {
	for _, test := range []struct{ old, new, want string }{
		{`"lower":0.75,`, ``, `rows[0]: no key "lower"`},
		{`"line":7`, `"line":7,"extra":1`, `rows[0]: unknown key "extra"`},
		{`"line":7`, `"line":null`, "rows[0].line: found null, expected a whole number"},
		{`"groups":[]`, `"groups":null`, "rows[0].groups: found null, expected a list"},
		{`"estimate":1.5`, `"estimate":"big"`, "rows[0].estimate: found \"big\", expected a number"},
		{`"estimate":1.5`, `"estimate":1e999`, "rows[0].estimate: found 1e999, expected a number"},
		{`"computed": true`, `"computed": 1`, "computed: json: cannot unmarshal number"},
		{SchemaID, "urn:heelcohort:results:9", `schema is "urn:heelcohort:results:9", expected "urn:heelcohort:results:3"`},
		{"]\n}\n", "]\n}\n{}", "not a JSON document"},
		{"]\n}\n", "]\n", "not a JSON document"},
	} {
		text := sampleJSON(t)
		changed := strings.Replace(text, test.old, test.new, 1)
		if changed == text {
			t.Fatalf("%q is not in the sample", test.old)
		}
		_, err := ReadJSON(strings.NewReader(changed))
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%q for %q: error %v, want %q", test.new, test.old, err, test.want)
		}
	}
}

func TestNumberText(t *testing.T) {
	for _, test := range []struct {
		number     Number
		text, json string
	}{
		{None(), "", "null"},
		{Number(math.Inf(1)), "unbounded", `"unbounded"`},
		{Number(math.Inf(-1)), "unbounded below", `"unbounded below"`},
		{0, "0", "0"},
		{0.1, "0.1", "0.1"},
		{Number(0.1) + 0.2, "0.30000000000000004", "0.30000000000000004"}, // 0.1+0.2 in binary, by the shortest text
		{100, "100", "100"},
		{1e21, "1e+21", "1e+21"},
		{2.5e-7, "2.5e-07", "2.5e-07"},
	} {
		if got := test.number.String(); got != test.text {
			t.Errorf("text of %v: %q, want %q", float64(test.number), got, test.text)
		}
		got, err := test.number.MarshalJSON()
		if err != nil || string(got) != test.json {
			t.Errorf("JSON of %v: %s, %v, want %s", float64(test.number), got, err, test.json)
		}
	}
}
