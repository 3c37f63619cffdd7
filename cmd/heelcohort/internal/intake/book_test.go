package intake

import (
	"encoding/json"
	"strings"
	"testing"

	"heelcohort/codebook"
)

// baseBook is the codebook of the study in testdata/intake, as the plain text
// has it: points, 2021-01-04, true and false.
const baseBook = `{
	"name": "saltmarsh-visits",
	"resources": [{
		"name": "visits", "path": "plain.csv",
		"schema": {
			"primaryKey": "id",
			"missingValues": ["", "NM", "DK"],
			"fields": [
				{"name": "id", "type": "string", "constraints": {"required": true, "pattern": "SM-[0-9]{4}"}},
				{"name": "seen", "type": "date", "constraints": {"minimum": "2020-01-01", "maximum": "2023-12-31"}},
				{"name": "age", "type": "number", "constraints": {"minimum": 4, "maximum": 20}},
				{"name": "height_cm", "type": "integer", "missingValues": ["", {"value": "999", "label": "not measured"}], "constraints": {"minimum": 90, "maximum": 210}},
				{"name": "pain", "type": "integer", "constraints": {"minimum": 0, "maximum": 10}},
				{"name": "limp", "type": "boolean"},
				{"name": "side", "type": "string", "categories": ["left", "right", "both"]},
				{"name": "adherence", "type": "number", "constraints": {"minimum": 0, "maximum": 1}},
				{"name": "club", "type": "string"},
				{"name": "steps", "type": "integer"}
			]
		}
	}]
}`

// book is the base codebook for the file at path, changed as the table's
// column codebook says: "age.decimalChar=, ; resource.heelcohort.header_row=3"
// sets a key of the field age and one of the table. A value is JSON where it is
// that, else a text.
func book(t testing.TB, path, changes string) (*codebook.Package, error) {
	t.Helper()
	var root map[string]any
	if err := json.Unmarshal([]byte(baseBook), &root); err != nil {
		t.Fatal(err)
	}
	resource := root["resources"].([]any)[0].(map[string]any)
	resource["path"] = path
	for _, change := range strings.Split(changes, " ; ") {
		if change == "" || change == "base" {
			continue
		}
		key, text, ok := strings.Cut(change, "=")
		if !ok {
			t.Fatalf("change %q of the codebook has no =", change)
		}
		var value any
		if json.Unmarshal([]byte(text), &value) != nil {
			value = text
		}
		at := resource
		words := strings.Split(key, ".")
		if words[0] != "resource" {
			at = fieldNamed(resource, words[0])
		}
		if at == nil {
			t.Fatalf("change %q of the codebook names no field", change)
		}
		for _, w := range words[1 : len(words)-1] {
			next, ok := at[w].(map[string]any)
			if !ok {
				next = map[string]any{}
				at[w] = next
			}
			at = next
		}
		at[words[len(words)-1]] = value
	}
	data, err := json.Marshal(root)
	if err != nil {
		t.Fatal(err)
	}
	return codebook.Decode("codebook.json", data)
}

func fieldNamed(resource map[string]any, name string) map[string]any {
	for _, f := range resource["schema"].(map[string]any)["fields"].([]any) {
		if field := f.(map[string]any); field["name"] == name {
			return field
		}
	}
	return nil
}
