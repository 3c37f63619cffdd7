package codebookpage

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

const studyBook = `
name: heels
title: Heels
description: Invented.
resources:
  - name: children
    title: Children
    path: children.csv
    heelcohort:
      rules:
        - {name: light, check: "weight < 60", message: The child is heavy., severity: warning}
    schema:
      primaryKey: id
      foreignKeys:
        - {fields: [friend], reference: {resource: children, fields: [id]}}
      fields:
        - {name: id, type: string, heelcohort: {role: identifier}}
        - {name: friend, type: string, heelcohort: {role: identifier}}
        - {name: remark, type: string, heelcohort: {role: free_text}}
        - {name: street, type: string}
        - name: sex
          title: "<b>Sex</b>"
          description: As recorded.
          type: string
          categories: [{value: f, label: female}, {value: m, label: male}, {value: x, label: other}]
          missingValues: [{value: "", label: not asked}, {value: NM, label: not known}]
        - {name: weight, title: Weight, type: number, constraints: {minimum: 10}, heelcohort: {unit: kg}}
        - {name: onset, type: integer, heelcohort: {unit: day}}
        - {name: seen, type: date}
        - {name: limps, type: boolean}
`

// study is 40 invented children: weights 20 to 59, but 70 of the last; onsets
// 100 to 139; sex f 22, m 12, x 2, NM 3, and one fault.
func study(t *testing.T) Input {
	t.Helper()
	var b strings.Builder
	b.WriteString("id,friend,remark,street,sex,weight,onset,seen,limps\n")
	for i := range 40 {
		sex := "f"
		switch {
		case i >= 39:
			sex = "q"
		case i >= 36:
			sex = "NM"
		case i >= 34:
			sex = "x"
		case i >= 22:
			sex = "m"
		}
		weight, friend := 20+i, fmt.Sprintf("secret%02d", (i+1)%40)
		if i == 39 {
			weight, friend = 70, "secret99"
		}
		fmt.Fprintf(&b, "secret%02d,%s,secret words,secret street,%s,%d,%d,2023-%02d-07,%v\n", i, friend, sex, weight, 100+i, 1+i/10, i < 30)
	}
	return input(t, studyBook, map[string]string{"children.csv": b.String()})
}

// input reads files against a codebook.
func input(t *testing.T, book string, files map[string]string) Input {
	t.Helper()
	pkg, err := codebook.Decode("codebook.yaml", []byte(book))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	data, findings, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	more, err := dataset.Validate(context.Background(), data)
	if err != nil {
		t.Fatal(err)
	}
	return Input{
		Package: pkg, File: "codebook.yaml", Data: data, Findings: append(findings, more...),
		Small: DefaultSmall, Program: "heelcohort test", Caution: "Careful.",
	}
}

// pageOf writes the page.
func pageOf(t *testing.T, in Input) string {
	t.Helper()
	var b strings.Builder
	if err := HTML(&b, in); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// variableNamed is the view of a variable of the first table.
func variableNamed(t *testing.T, in Input, name string) variableView {
	t.Helper()
	for _, v := range tableOf(in, in.Package.Resources[0]).Variables {
		if v.Name == name {
			return v
		}
	}
	t.Fatalf("no variable %s", name)
	return variableView{}
}
