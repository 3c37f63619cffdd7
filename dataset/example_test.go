package dataset_test

import (
	"bytes"
	"context"
	"fmt"
	"log"
	"os"
	"path/filepath"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

const exampleCodebook = `
name: saltmarsh-youth-sport-heel-registry
resources:
  - name: participants
    path: participants.csv
    schema:
      primaryKey: [participant_id]
      missingValues: ["", "NM"]
      fields:
        - {name: participant_id, type: string}
        - {name: age_enrolled, type: number, constraints: {minimum: 6, maximum: 16.9}}
        - {name: sex, type: string, categories: ["female", "male"]}
`

const exampleData = `participant_id,age_enrolled,sex
SM-0001,10.4,female
SM-0002,NM,male
SM-0003,104,mail
SM-0001,11.2,male
`

// exampleStudy writes the example's study folder and opens it.
func exampleStudy() (*dataset.Dataset, []dataset.Finding, func()) {
	dir, err := os.MkdirTemp("", "study-")
	if err != nil {
		log.Fatal(err)
	}
	clean := func() { _ = os.RemoveAll(dir) }
	if err := os.WriteFile(filepath.Join(dir, "participants.csv"), []byte(exampleData), 0o644); err != nil {
		log.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", []byte(exampleCodebook))
	if err != nil {
		log.Fatal(err)
	}
	d, findings, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil {
		log.Fatal(err)
	}
	return d, findings, clean
}

func ExampleOpen() {
	d, findings, clean := exampleStudy()
	defer clean()
	age := d.Table("participants").Column("age_enrolled")
	for i := range age.Len() {
		v := age.Value(i)
		fmt.Println(v, v.Missing)
	}
	for _, f := range findings {
		fmt.Printf("%s: %s, found %q\n", f.Where, f.Rule, f.Found)
	}
	// Output:
	// 10.4 false
	// NM true
	// fault true
	// 11.2 false
	// participants.csv, line 4, column 2: maximum, found "104"
	// participants.csv, line 4, column 3: category, found "mail"
}

func ExampleValidate() {
	d, _, clean := exampleStudy()
	defer clean()
	findings, err := dataset.Validate(context.Background(), d)
	if err != nil {
		log.Fatal(err)
	}
	for _, f := range findings {
		fmt.Printf("%s: %s\n", f.Where, f.Message)
	}
	// Output:
	// participants.csv, line 5, column 1: participant_id SM-0001 of line 5 stands in line 2 too
}

func ExampleMark() {
	d, findings, clean := exampleStudy()
	defer clean()
	names, err := dataset.Mark(context.Background(), d, findings, filepath.Join(d.Dir, "checked"))
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(names)
	// Output: [participants.csv.xlsx]
}

func ExampleGroup() {
	_, findings, clean := exampleStudy()
	defer clean()
	for _, g := range dataset.Group(findings) {
		fmt.Println(g.Severity, g.Rule, g.Variable, g.Count, g.First[0].Where.Cell())
	}
	// Output:
	// error category sex 1 line 4, column 3
	// error maximum age_enrolled 1 line 4, column 2
}

func ExampleWriteFindings() {
	found := []dataset.Finding{{
		Rule: "maximum", Table: "participants", Variable: "age_enrolled",
		Where: dataset.Origin{File: "data/registry.xlsx", Sheet: "participants", Row: 7, Column: 2},
		Found: "104", Expected: "at most 16.9", Message: "The age is out of range.",
	}}
	if err := dataset.WriteFindings(os.Stdout, found); err != nil {
		log.Fatal(err)
	}
	// Output:
	// rule,severity,file,sheet,cell,table,variable,found,expected,nearest,message,meaning
	// maximum,error,data/registry.xlsx,participants,B7,participants,age_enrolled,104,at most 16.9,,The age is out of range.,A value lies above the greatest that the codebook allows.
}

func ExampleTable_Keep() {
	age := dataset.NewColumn("age", "Age", "years", value.Number, nil,
		[]value.Value{value.Num(9), value.None(value.Number, "NM"), value.Num(12)})
	t := &dataset.Table{Name: "participants", Rows: []int{2, 3, 4}, Columns: []*dataset.Column{age}}
	older, err := t.Keep([]bool{false, true, true})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(older.Rows, older.Columns[0].Value(0), older.Columns[0].Value(1))
	// Output: [3 4] NM 12
}

func ExampleFrame() {
	age := dataset.NewColumn("age", "Age", "years", value.Number, nil,
		[]value.Value{value.Num(9.5), value.None(value.Number, "NA")})
	t := &dataset.Table{Name: "participants", Rows: []int{2, 3}, Columns: []*dataset.Column{age}}
	df, err := dataset.Frame(t)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(df.Records())
	back, err := dataset.FromFrame(df, t)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(back.Columns[0].Value(1).Missing, back.Columns[0].Value(1).Code)
	// Output:
	// [[|row age age|state age|code] [2 9.5 present ] [3  missing NA]]
	// true NA
}

func ExampleWriteWorkbook() {
	var b bytes.Buffer
	err := dataset.WriteWorkbook(&b, []dataset.WorkbookSheet{{
		Name: "Table 1", Freeze: 1, Widths: []float64{24, 10},
		Rows: [][]dataset.WorkbookCell{
			{{Text: "Variable", Style: dataset.Header}, {Text: "Mean", Style: dataset.Header}},
			{{Text: "Age, years", Style: dataset.Label}, {Number: 11.25, IsNumber: true, Style: dataset.Figure}},
		},
	}})
	fmt.Println(b.Len() > 0, err)
	// Output: true <nil>
}
