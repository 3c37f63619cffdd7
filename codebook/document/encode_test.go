package document_test

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

// hardTexts are texts that some reader of YAML takes for something else, or
// that an encoding could lose.
var hardTexts = []string{
	"", " ", "007", "1.10", "1e3", "0x1f", "0o7", "1_000", ".5", "+1", "-", "--- a", "~", "null", "NULL", "true", "False", "yes", "NO", "on", "Off", "y", "n",
	"2024-01-01", "2024-01-01T10:00:00Z", "12:30", "1:20:30.5", ".inf", ".NaN", "a: b", "a #b", "# a", "a:", "- a", "? a", "[a]", "{a: b}", "a, b", "&a", "*a", "!a",
	"%a", "@a", "`a`", "|", ">", "'a'", `"a"`, `a"b`, `a\b`, `\u0041`, "a\nb", "a\n", "\na", "a\tb", "\ta", "a\r\nb", "a\x00b", "\x7f", "\u0085", "\u2028", "\ufeff", "\ufffe",
	"\U0001f9b6", "é", "日本", "a ", " a", "\u00a0a", "a  b", "=", "<<", "a: ", strings.Repeat("long text, ", 80),
}

// anyNode draws a document.
func anyNode(t *rapid.T, depth int) *document.Node {
	kinds := []document.Kind{document.Null, document.Bool, document.Number, document.Text, document.Text, document.Text}
	if depth > 0 {
		kinds = append(kinds, document.List, document.Map, document.Map)
	}
	n := &document.Node{Kind: rapid.SampledFrom(kinds).Draw(t, "kind")}
	text := rapid.OneOf(rapid.SampledFrom(hardTexts), rapid.String(), rapid.StringMatching(`[a-z ,:#'"\n-]{0,12}`))
	switch n.Kind {
	case document.Null:
		n.Text = "null"
	case document.Bool:
		n.Text = rapid.SampledFrom([]string{"true", "false"}).Draw(t, "bool")
	case document.Number:
		n.Text = rapid.SampledFrom([]string{"0", "-1", "1.10", "1e3", "12345678901234567890", "0.1"}).Draw(t, "number")
	case document.Text:
		n.Text, n.Quoted = strings.ToValidUTF8(text.Draw(t, "text"), "?"), true
		n.Text = strings.ReplaceAll(n.Text, "\ufffd", "?")
	case document.List:
		for range rapid.IntRange(0, 4).Draw(t, "items") {
			n.Items = append(n.Items, anyNode(t, depth-1))
		}
	case document.Map:
		seen := map[string]bool{}
		key := rapid.OneOf(rapid.StringMatching(`[a-z][a-z_]{0,5}`), rapid.StringMatching(`[a-z][a-z_]{0,5}`), rapid.SampledFrom([]string{"$schema", "x-a", "a b", "1", "no", "a:b", "", "a,b", "\"", "é"}))
		for range rapid.IntRange(0, 5).Draw(t, "pairs") {
			k := key.Draw(t, "key")
			if !seen[k] {
				seen[k] = true
				n.Pairs = append(n.Pairs, document.Pair{Key: k, Value: anyNode(t, depth-1)})
			}
		}
	}
	return n
}

// TestEncodeBack wants every document back from what is written of it, from
// JSON by the standard library too.
func TestEncodeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := &document.Node{Kind: document.Map, Pairs: []document.Pair{{Key: "root", Value: anyNode(t, 4)}, {Key: "more", Value: anyNode(t, 3)}}}
		asYAML, err := document.EncodeYAML(n)
		if err != nil {
			t.Fatal(err)
		}
		asJSON, err := document.EncodeJSON(n)
		if err != nil {
			t.Fatal(err)
		}
		for file, data := range map[string][]byte{"a.yaml": asYAML, "a.json": asJSON} {
			back, err := document.Parse(file, data)
			if err != nil {
				t.Fatalf("%v\n%s", err, data)
			}
			if diff := cmp.Diff(documenttest.Value(n), documenttest.Value(back)); diff != "" || !document.Equal(n, back) {
				t.Fatalf("%s\n%s", diff, data)
			}
		}
		decoder := json.NewDecoder(strings.NewReader(string(asJSON)))
		decoder.UseNumber()
		var other any
		if err := decoder.Decode(&other); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(documenttest.Value(n), other); diff != "" {
			t.Fatal(diff)
		}
		again, err := document.EncodeYAML(n)
		if err != nil || string(again) != string(asYAML) {
			t.Fatal("other bytes the second time")
		}
	})
}

// TestEncodeYAMLAgainstPython has another reader of YAML read every hard text
// as that text. Its 1.1 rules take more words for booleans and numbers than
// this package does.
func TestEncodeYAMLAgainstPython(t *testing.T) {
	const interpreter = "/usr/bin/python3"
	if exec.Command(interpreter, "-c", "import yaml").Run() != nil {
		t.Skipf("SKIPPED: %s with a YAML reader is not installed, so YAML was not read by another program", interpreter)
	}
	list := &document.Node{Kind: document.List}
	var want []string
	for _, text := range append([]string{"inf", "nan", "e", "E5", "x", "Y", "N", "I", "O1", "a.b", "a-b", "x;y"}, hardTexts...) {
		if strings.Contains(text, "\ufffe") { // which that reader refuses in any form
			continue
		}
		want = append(want, text)
		list.Items = append(list.Items, &document.Node{Kind: document.Text, Text: text})
	}
	file := filepath.Join(t.TempDir(), "a.yaml")
	data, err := document.EncodeYAML(&document.Node{Kind: document.Map, Pairs: []document.Pair{{Key: "texts", Value: list}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(interpreter, "-c", "import json, sys, yaml; print(json.dumps(yaml.safe_load(open(sys.argv[1], encoding='utf-8'))['texts']))", file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s\n%s", err, out, data)
	}
	var got []string
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatalf("not all texts: %v\n%s", err, out)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// TestEncodeRefusesOddNumbers wants a notation without a place in JSON refused.
func TestEncodeRefusesOddNumbers(t *testing.T) {
	n, err := document.Parse("a.yaml", []byte("a: 1\nx-b: 0x1f\n"))
	if err != nil {
		t.Fatal(err)
	}
	for _, encode := range []func(*document.Node) ([]byte, error){document.EncodeJSON, document.EncodeYAML} {
		if _, err := encode(n); err == nil || err.Error() != "a.yaml:2:6: found the number 0x1f, expected a plain decimal number, or a text in quotes" {
			t.Errorf("%v", err)
		}
	}
}
