package document_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

// FuzzYAMLAndJSON wants an answer to any text in a bounded time, every fault at a
// place inside the text, and one value from YAML and from JSON that say the
// same.
func FuzzYAMLAndJSON(f *testing.F) {
	files, err := filepath.Glob(filepath.Join("..", "..", "testdata", "intake", "documents", "*"))
	if err != nil || len(files) == 0 {
		f.Fatalf("no documents (%v)", err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(data))
	}
	for _, text := range []string{
		"a: |+\n  b\n\n\nc: >-\n  d\n  e\n", `{"a": ["\u00e4", -0, 1e5, null, true, {"b": {}}], "c d": ""}`, "- 'it''s'\n- \"a\\tb\"\n- [x, {y: z}]\n-\n",
		"a:\n- b: 1\n  c: ~\n- d\n", "a: b\n  c\n", strings.Repeat("[", 101) + strings.Repeat("]", 101), "a" + strings.Repeat("\n", 110), "a: " + strings.Repeat("<", 210),
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		begin := time.Now()
		for _, name := range []string{"a.yaml", "a.json"} {
			n, err := document.Parse(name, []byte(text))
			if took := time.Since(begin); took > 20*time.Second {
				t.Fatalf("%s took %v", name, took)
			}
			if err != nil {
				wellPlaced(t, text, err)
				continue
			}
			data, err := json.Marshal(documenttest.Value(n))
			if err != nil {
				continue // a number that JSON does not know
			}
			for other, written := range map[string]string{"b.json": string(data), "b.yaml": "# a comment, so that it is no JSON\n" + string(data)} {
				again, err := document.Parse(other, []byte(written))
				switch {
				case err != nil && other == "b.json":
					t.Fatalf("%s was read, and its value as JSON was not: %v", name, err)
				case err != nil: // YAML has texts that JSON writes in another way
				default:
					if d := cmp.Diff(documenttest.Value(n), documenttest.Value(again)); d != "" {
						t.Fatalf("%s and its value as %s differ:\n%s", name, other, d)
					}
				}
			}
		}
	})
}

// wellPlaced wants a fault to have a message and a place inside the text.
func wellPlaced(t *testing.T, text string, err error) {
	t.Helper()
	for _, e := range document.Faults(err) {
		lines := 1 + strings.Count(text, "\n")
		if e.Message == "" || e.Position.Line < 0 || e.Position.Line > lines || e.Position.Line > 0 && e.Position.Column < 1 {
			t.Fatalf("fault at %v of %d lines: %v", e.Position, lines, e)
		}
	}
}
