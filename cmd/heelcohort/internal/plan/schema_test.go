package plan

import (
	"encoding/json"
	"errors"
	"flag"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

var update = flag.Bool("update", false, "write study.schema.json anew")

const schemaFile = "study.schema.json"

// TestSchemaFile wants the published schema to be that of this package.
func TestSchemaFile(t *testing.T) {
	got, err := json.MarshalIndent(JSONSchema(), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, '\n')
	if *update {
		if err := os.WriteFile(schemaFile, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), string(got)); d != "" {
		t.Errorf("%s is not up to date; run go test -update\n%s", schemaFile, d)
	}
}

// compiledSchema compiles the published schema by another implementation.
func compiledSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	data, err := os.ReadFile(schemaFile)
	if err != nil {
		t.Fatal(err)
	}
	return documenttest.Compile(t, data)
}

// TestSchemaAcceptsGood wants Decode and the schema to accept the good plans.
func TestSchemaAcceptsGood(t *testing.T) {
	schema := compiledSchema(t)
	good := files(t, "good")
	demo, err := os.ReadFile("../demo/files/study.yaml")
	if err != nil {
		t.Fatal(err)
	}
	good["demo.yaml"] = string(demo)
	for _, name := range names(good) {
		if _, err := Decode(name, []byte(good[name])); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		root, err := document.Parse(name, []byte(good[name]))
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(documenttest.Value(root)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// senseOnly are the faults that words and kinds of single values do not show,
// or that are faults of writing: Decode refuses them and the schema cannot.
var senseOnly = []string{
	"derive-name", "derive-nothing", "derive-two", "instrument-and-value", "derive-of", "sum-without-of", // how keys and names go together
	"id-capital", "id-path", "id-twice",
}

// TestSchemaRefusesBad wants the schema to refuse what Decode refuses, those
// faults apart.
func TestSchemaRefusesBad(t *testing.T) {
	schema := compiledSchema(t)
	bad := files(t, "bad")
	refused := 0
	for _, name := range names(bad) {
		text, _ := documenttest.Unmark(t, bad[name])
		if _, err := Decode(name, []byte(text)); err == nil {
			t.Errorf("%s is accepted", name)
		}
		root, err := document.Parse(name, []byte(text))
		if err != nil {
			continue // no document at all
		}
		sense := false
		for _, s := range senseOnly {
			sense = sense || name == s+".yaml"
		}
		err = schema.Validate(documenttest.Value(root))
		if (err == nil) != sense {
			t.Errorf("%s: the schema says %v", name, err)
		}
		var invalid *jsonschema.ValidationError
		if err != nil && !errors.As(err, &invalid) {
			t.Errorf("%s: %v", name, err)
		}
		if err != nil {
			refused++
		}
	}
	if refused < 35 {
		t.Errorf("the schema refuses %d plans", refused)
	}
}

// TestKinds wants every kind documented, and accepted under its own name.
func TestKinds(t *testing.T) {
	for _, k := range Kinds() {
		if k.Name == "" || !strings.HasSuffix(k.Doc, ".") {
			t.Errorf("kind %q is documented as %q", k.Name, k.Doc)
		}
		if k.New().Common() == nil {
			t.Errorf("kind %q has no head", k.Name)
		}
	}
}
