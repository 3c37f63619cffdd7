package codebook_test

import (
	"fmt"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
)

const participants = `
name: saltmarsh-heel-registry
resources:
  - name: participants
    path: data/registry.xlsx
    heelcohort: {sheet: participants, header_row: 2}
    schema:
      primaryKey: participant_id
      fields:
        - {name: participant_id, type: string, constraints: {required: true, pattern: 'SM-[0-9]{4}'}}
        - name: heel
          type: string
          categories: [{value: left, label: Left heel}, {value: right, label: Right heel}]
        - name: height_cm
          type: number
          constraints: {minimum: 95, maximum: 200}
          missingValues: [{value: "NM", label: not measured}, {value: "999", label: old code}]
          heelcohort: {unit: cm}
`

func ExampleDecode() {
	p, err := codebook.Decode("codebook.yaml", []byte(participants))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range p.Resources {
		fmt.Printf("%s: %s, sheet %q, header in row %d\n", r.Name, r.Path, r.Sheet, r.HeaderRow)
		for _, f := range r.Schema.Fields {
			fmt.Printf("  %s: %s\n", f.Name, f.Expected())
		}
	}
	// Output:
	// participants: data/registry.xlsx, sheet "participants", header in row 2
	//   participant_id: a text that matches SM-[0-9]{4}
	//   heel: one of left, right
	//   height_cm: a number of at least 95 and at most 200 cm
}

// A faulty codebook is refused with the place of every fault.
func ExampleDecode_faulty() {
	_, err := codebook.Decode("codebook.yaml", []byte(`resources:
  - name: visits
    path: data/visits.csv
    schema:
      fields:
        - {name: visit_id, type: text}
        - {name: vas_mm, type: number, constraints: {minimum: 100, maximum: 0}}
`))
	for _, fault := range document.Faults(err) {
		fmt.Printf("%v\n%s\n", fault, fault.Excerpt)
	}
	// Output:
	// codebook.yaml:6:34: unknown type "text", expected one of string, integer, number, boolean, date, datetime, list
	//         - {name: visit_id, type: text}
	//                                  ^
	// codebook.yaml:7:53: no value of vas_mm can meet at least 100 and at most 0
	//         - {name: vas_mm, type: number, constraints: {minimum: 100, maximum: 0}}
	//                                                     ^
}

func ExampleField_Parse() {
	p, err := codebook.Decode("codebook.yaml", []byte(participants))
	if err != nil {
		fmt.Println(err)
		return
	}
	height := p.Resource("participants").Schema.Field("height_cm")
	for _, text := range []string{" 142.5 ", "NM", "1425", "999.0", "142,5", ""} {
		v, fault := height.Parse(text)
		switch {
		case fault != nil:
			fmt.Printf("%q: %s, expected %s\n", text, fault.Rule, fault.Expected)
		case v.Missing:
			fmt.Printf("%q: missing, code %s\n", text, v.Code)
		default:
			fmt.Printf("%q: %v\n", text, v)
		}
	}
	// Output:
	// " 142.5 ": 142.5
	// "NM": missing, code NM
	// "1425": maximum, expected a number of at least 95 and at most 200 cm
	// "999.0": type, expected the missing code written as 999
	// "142,5": type, expected a number of at least 95 and at most 200 cm; to read such marks the codebook declares decimalChar ","
	// "": required, expected a number of at least 95 and at most 200 cm; the cell must not be empty
}
