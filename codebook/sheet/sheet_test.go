package sheet_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"heelcohort/codebook"
	"heelcohort/codebook/codebooktest"
	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
	"heelcohort/codebook/sheet"
)

// back writes a document and reads it again.
func back(t interface{ Fatalf(string, ...any) }, n *document.Node) *document.Node {
	sheets, err := sheet.Write(n)
	if err != nil {
		t.Fatalf("%v", err)
	}
	read, err := sheet.Read("codebook.xlsx", sheets)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return read
}

// same compares two documents by a comparison of their JSON values, beside
// document.Equal.
func same(t interface{ Fatalf(string, ...any) }, want, got *document.Node) {
	if diff := cmp.Diff(documenttest.Value(want), documenttest.Value(got)); diff != "" || !document.Equal(want, got) {
		t.Fatalf("%s", diff)
	}
}

// TestNothingIsLost wants every document that the codebook's schema accepts
// back from its rows.
func TestNothingIsLost(t *testing.T) {
	documents := codebooktest.Documents(t)
	rapid.Check(t, func(t *rapid.T) {
		n := documents.Draw(t, "document")
		before := documenttest.Value(n)
		same(t, n, back(t, n))
		if diff := cmp.Diff(before, documenttest.Value(n)); diff != "" {
			t.Fatalf("Write changed its document: %s", diff)
		}
	})
}

// TestChoices wants the words offered for a column to be those of the
// codebook's schema, where that lists them, and good ones where not.
func TestChoices(t *testing.T) {
	n := &document.Node{Kind: document.Map}
	sheets, err := sheet.Write(n)
	if err != nil {
		t.Fatal(err)
	}
	schema := codebook.JSONSchema()
	enum := func(def, key string) []any {
		return schema["$defs"].(map[string]any)[def].(map[string]any)["properties"].(map[string]any)[key].(map[string]any)["enum"].([]any)
	}
	want := map[string][]any{"role": enum("rawOwnField", "role"), "severity": enum("rawRule", "severity")}
	seen := 0
	for _, s := range sheets {
		for i, words := range s.Choices {
			heading := s.Rows[0].Cells[i].Text
			var got []any
			for _, w := range words {
				got = append(got, w)
				if heading == "type" {
					if _, err := codebook.Decode("a.yaml", []byte("name: a\nresources: [{name: a, path: a.csv, schema: {fields: [{name: a, type: "+w+"}]}}]")); err != nil {
						t.Error(err)
					}
				}
			}
			if w := want[heading]; w != nil {
				seen++
				if diff := cmp.Diff(w, got); diff != "" {
					t.Errorf("%s: %s", heading, diff)
				}
			}
		}
	}
	if seen != len(want) {
		t.Errorf("%d columns with the schema's words, want %d", seen, len(want))
	}
}

// goodBooks are the codebooks of this module.
func goodBooks(t testing.TB) []string {
	t.Helper()
	var files []string
	for _, pattern := range []string{"../testdata/good/*", "../../cmd/heelcohort/internal/demo/files/codebook.yaml", "../../testdata/studies/*/codebook.yaml"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("no codebook at %s: %v", pattern, err)
		}
		files = append(files, found...)
	}
	return files
}

// TestGoodBooks wants every codebook here back, and the same codebook decoded
// from it.
func TestGoodBooks(t *testing.T) {
	for _, file := range goodBooks(t) {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		n, err := document.Parse(file, data)
		if err != nil {
			t.Fatal(err)
		}
		read := back(t, n)
		same(t, n, read)
		want, err := codebook.Decode(file, data)
		if err != nil {
			t.Fatal(err)
		}
		got, err := codebook.DecodeDocument(read)
		if err != nil {
			t.Fatal(err)
		}
		if g, w := len(got.Resources), len(want.Resources); g != w {
			t.Fatalf("%d tables, want %d", g, w)
		}
		for i, r := range want.Resources {
			if diff := cmp.Diff(r.Schema.Names(), got.Resources[i].Schema.Names()); diff != "" {
				t.Error(diff)
			}
		}
		again, err := document.EncodeYAML(read)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := codebook.Decode("codebook.yaml", again); err != nil {
			t.Errorf("%s: written as YAML: %v\n%s", file, err, again)
		}
	}
}
