package document_test

import (
	"encoding/json"
	"errors"
	"fmt"

	"heelcohort/codebook/document"
)

type analysis struct {
	ID    string                              `doc:"id,required" about:"Name of the analysis."`
	Kind  string                              `doc:"kind,required" enum:"describe|incidence"`
	By    document.OneOrMore[document.String] `doc:"by"`
	Level float64                             `doc:"level" above:"0" below:"1"`
}

func Example() {
	text := `id: table-1
kynd: describe
by: arch
level: 95
`
	node, err := document.Parse("study.yaml", []byte(text))
	if err != nil {
		fmt.Println(err)
		return
	}
	a := analysis{Level: 0.95}
	err = document.Decode(node, &a)
	fmt.Println(err)
	var first *document.Error
	if errors.As(err, &first) {
		fmt.Println(document.Faults(err)[1].Excerpt)
	}
	// Output:
	// study.yaml:1:1: key "kind" is missing
	// study.yaml:2:1: unknown key "kynd", expected one of id, kind, by, level; did you mean "kind"?
	// study.yaml:4:8: found 95, expected a number above 0 and below 1
	// kynd: describe
	// ^
}

func ExampleSchema() {
	schema, err := json.MarshalIndent(document.Schema(analysis{}), "", "  ")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(string(schema[:150]))
	// Output:
	// {
	//   "$schema": "https://json-schema.org/draft/2020-12/schema",
	//   "additionalProperties": false,
	//   "properties": {
	//     "by": {
	//       "anyOf": [
}

func ExampleNearest() {
	fmt.Println(document.Nearest("incidense", []string{"describe", "incidence"}))
	fmt.Printf("%q\n", document.Nearest("survival", []string{"describe", "incidence"}))
	// Output:
	// incidence
	// ""
}
