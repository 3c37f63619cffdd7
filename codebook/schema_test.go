package codebook

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

// compiledSchema compiles JSONSchema by an independent implementation.
func compiledSchema(t testing.TB) *jsonschema.Schema {
	t.Helper()
	data, err := json.Marshal(JSONSchema())
	if err != nil {
		t.Fatal(err)
	}
	return documenttest.Compile(t, data)
}

func asJSON(t testing.TB, n *document.Node) []byte {
	t.Helper()
	data, err := json.MarshalIndent(documenttest.Value(n), "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestSchemaAcceptsGood wants the schema to accept what Decode accepts.
func TestSchemaAcceptsGood(t *testing.T) {
	schema := compiledSchema(t)
	for file, data := range goodBooks(t) {
		root, err := document.Parse(file, data)
		if err != nil {
			t.Fatal(err)
		}
		if err := schema.Validate(documenttest.Value(root)); err != nil {
			t.Errorf("%s: %v", file, err)
		}
	}
}

// TestSchemaAgainstFaulty compares the schema with Decode over all faulty
// codebooks. Faults of words and kinds are the schema's too; those of sense
// are Decode's alone; and a schema, which sees values only, cannot know that a
// word should have stood in quotes.
func TestSchemaAgainstFaulty(t *testing.T) {
	schema := compiledSchema(t)
	all := append([]book(nil), faultyPackages...)
	for _, group := range []struct {
		books []book
		whole func(string) string
	}{
		{faultyFields, withFields},
		{faultyCodes, withFields},
		{faultyPlausibles, withFields},
		{faultyLists, withFields},
		{faultySchemas, withSchema},
		{faultyTables, func(s string) string { return withTable(s + "\nschema: {fields: [{name: age, type: number}]}") }},
		{faultyRules, withRules},
		{faultyKinds, withKinds},
	} {
		for _, b := range group.books {
			all = append(all, book{b.name, group.whole(b.text)})
		}
	}
	refused := 0
	for _, b := range all {
		text, _ := documenttest.Unmark(t, b.text)
		root, err := document.Parse("codebook.yaml", []byte(text))
		if err != nil {
			continue // no document at all
		}
		inWords := false
		for _, e := range document.Faults(document.Decode(root, &rawPackage{})) {
			unquoted := strings.Contains(e.Message, "some readers take") || strings.Contains(e.Message, "the machine's range")
			inWords = inWords || !unquoted
		}
		err = schema.Validate(documenttest.Value(root))
		if inWords != (err != nil) {
			t.Errorf("%s: refused for its words %v, schema says %v\n%s", b.name, inWords, err, text)
		}
		if err != nil {
			refused++
		}
	}
	// The comparison means something only if both answers occur.
	if refused < 25 || len(all)-refused < 60 {
		t.Errorf("the schema refuses %d of %d", refused, len(all))
	}
}

// TestSchemaBytes wants the same bytes every time.
func TestSchemaBytes(t *testing.T) {
	first, err := json.Marshal(JSONSchema())
	if err != nil {
		t.Fatal(err)
	}
	for range 5 {
		if again, _ := json.Marshal(JSONSchema()); !bytes.Equal(first, again) {
			t.Fatal("the schema has changed")
		}
	}
	for _, word := range []string{`"heelcohort"`, `"header_row"`, `"quasi_identifier"`, `"missingValues"`, `"https://json-schema.org/draft/2020-12/schema"`} {
		if !bytes.Contains(first, []byte(word)) {
			t.Errorf("the schema lacks %s", word)
		}
	}
}
