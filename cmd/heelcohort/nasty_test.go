package main

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/xuri/excelize/v2"
)

const nastyCodebook = `
name: nasty
title: "=nasty <b>\u202e"
resources:
  - name: "=children"
    title: "@children\u2066 <img src=x onerror=alert(1)>"
    path: data/book.xlsx
    heelcohort:
      sheet: "=S<1>\u202e"
      rules:
        - {name: "=rule\u202e", check: "score < 100", message: "=1+1 <script>alert(2)</script>\u2067"}
    schema:
      missingValues: ["", {value: "-x", label: "<i>none"}]
      fields:
        - name: "+sex\u202e"
          title: "-1+1 <script>alert(3)</script>\u200f"
          type: string
          categories: [{value: "=f", label: "=f()<b>\u202d"}, {value: "@m\u2068", label: "<u>m"}]
        - {name: score, title: "=score", type: number}
  - name: visits
    path: data/visits.csv
    schema:
      fields:
        - {name: "-note", type: string, constraints: {maxLength: 5}}
        - {name: day, type: integer}
`

const nastyPlan = `
title: "=plan <script>alert(4)</script>\u202e"
codebook: codebook.yaml
faults: set-missing
participants: "=children"
analyses:
  - {id: one, kind: describe, title: "@one\u202e <script>", variables: ["+sex\u202e", score]}
`

// nastyStudy writes a study whose names, labels, titles, sheets and cells hold
// formulas, markup, control characters and turns of the direction of writing.
func nastyStudy(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "study")
	if err := os.MkdirAll(filepath.Join(dir, "data"), 0o755); err != nil {
		t.Fatal(err)
	}
	f := excelize.NewFile()
	defer f.Close()
	const sheet = "=S<1>\u202e"
	if err := f.SetSheetName("Sheet1", sheet); err != nil {
		t.Fatal(err)
	}
	for i, row := range [][]any{
		{"+sex\u202e", "score", "=undeclared\u2066"},
		{"=f", 1, "=1+1"},
		{"@m\u2068", -2.5, "x"},
		{"=cmd|' /C calc'!A0", "<script>alert(5)</script>", "x"},
		{"\u202e=f", 200, "-1+2"},
		{"-x", "+3+3", "@x"},
		{"=f", 4, "\t=1"},
	} {
		if err := f.SetSheetRow(sheet, "A"+strconv.Itoa(i+1), &row); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"study.yaml": nastyPlan, "codebook.yaml": nastyCodebook, "data/book.xlsx": b.String(),
		"data/visits.csv": "-note,day,+more\u202e\n=1+1+1+1,\x1b[31mred\x07,x\n\"\t=12345\",-5,y\n@a,+b\u202e,\x1b]0;t\x07\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// acting finds what a text holds that acts on a terminal or a reader.
func acting(text string) string {
	i := strings.IndexFunc(text, func(r rune) bool {
		return r != '\n' && r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r))
	})
	if i < 0 {
		return ""
	}
	return strconv.Quote(text[max(0, i-30):min(len(text), i+30)])
}

// Every output of a check and of a run over such a study is harmless.
func TestNastyStudy(t *testing.T) {
	dir := nastyStudy(t)
	marks := filepath.Join(t.TempDir(), "marks")
	for _, args := range [][]string{{"check", "--marked", marks, dir}, {"run", dir}, {"check", filepath.Join(dir, "no\x1b[31m\u202ene")}, {"schema", "\x1b\u202e"}} {
		var stdout, stderr bytes.Buffer
		status := command(context.Background(), args, &stdout, &stderr)
		if want := map[bool]int{true: exitReport, false: exitNotDone}[args[0] != "schema" && !strings.Contains(args[1], "\x1b")]; status != want {
			t.Errorf("%q: status %d, want %d\n%s%s", args, status, want, stdout.String(), stderr.String())
		}
		for _, text := range []string{stdout.String(), stderr.String()} {
			if found := acting(text); found != "" {
				t.Errorf("%q prints %s", args[0], found)
			}
		}
	}
	files := readTree(t, marks)
	for name, text := range readTree(t, filepath.Join(dir, "results")) {
		files["results/"+name] = text
	}
	counts := map[string]int{}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		text, ending := files[name], filepath.Ext(name)
		counts[ending]++
		switch ending {
		case ".html", ".md", ".json", ".csv", ".svg":
			if found := acting(text); found != "" {
				t.Errorf("%s holds %s", name, found)
			}
		}
		switch ending {
		case ".csv":
			noFormulaCSV(t, name, text)
		case ".html":
			if m := regexp.MustCompile(`(?i)<(script|img|b>|u>|i>)[^>]*`).FindString(strings.ReplaceAll(text, "<b>", "")); m != "" {
				t.Errorf("%s holds the element %s", name, m)
			}
			for _, n := range []string{"alert(3)", "alert(4)"} {
				if !strings.Contains(text, "&lt;script&gt;"+n) {
					t.Errorf("%s does not show %s as text", name, n)
				}
			}
		case ".xlsx":
			noFormulaXLSX(t, name, text)
		}
	}
	for ending, least := range map[string]int{".csv": 3, ".html": 1, ".xlsx": 5, ".md": 1, ".json": 3} {
		if counts[ending] < least {
			t.Errorf("%d files %s, want at least %d", counts[ending], ending, least)
		}
	}
}

// noFormulaCSV wants no field that begins as a formula and is no number.
func noFormulaCSV(t *testing.T, name, text string) {
	t.Helper()
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		t.Errorf("%s: %v", name, err)
	}
	numbers := 0
	for _, record := range records {
		for _, field := range record {
			_, err := strconv.ParseFloat(field, 64)
			if err == nil {
				numbers++
			} else if field != "" && strings.ContainsAny(field[:1], "=+-@\t\r") {
				t.Errorf("%s: the field %q begins as a formula", name, field)
			}
		}
	}
	if numbers == 0 && strings.Contains(name, "tables/") {
		t.Errorf("%s has no numbers", name)
	}
}

// noFormulaXLSX wants no formula in a workbook, and cells that look like one
// marked as texts.
func noFormulaXLSX(t *testing.T, name, text string) {
	t.Helper()
	z, err := zip.NewReader(strings.NewReader(text), int64(len(text)))
	if err != nil {
		t.Fatal(name, err)
	}
	for _, part := range z.File {
		if !strings.HasPrefix(part.Name, "xl/worksheets/") {
			continue
		}
		r, err := part.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if regexp.MustCompile(`<(\w+:)?f[ >/]`).Match(data) {
			t.Errorf("%s, %s has a formula", name, part.Name)
		}
	}
	f, err := excelize.OpenReader(strings.NewReader(text))
	if err != nil {
		t.Fatal(name, err)
	}
	defer f.Close()
	for _, sheet := range f.GetSheetList() {
		if sheet == "=S<1>\u202e" && strings.Contains(name, "checked") {
			continue // the study's own cells, as they were
		}
		rows, err := f.GetRows(sheet, excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		for i, row := range rows {
			for j, cell := range row {
				ref, _ := excelize.CoordinatesToCellName(j+1, i+1)
				if found := acting(cell); found != "" && !strings.Contains(name, "checked") {
					t.Errorf("%s, %s %s: %s", name, sheet, ref, found)
				}
				if cell == "" || !strings.ContainsAny(cell[:1], "=+-@") {
					continue
				}
				if _, err := strconv.ParseFloat(cell, 64); err == nil {
					continue
				}
				style, err := f.GetCellStyle(sheet, ref)
				if err != nil {
					t.Fatal(err)
				}
				if q := f.Styles.CellXfs.Xf[style].QuotePrefix; q == nil || !*q {
					t.Errorf("%s, %s %s: %q is not marked as a text", name, sheet, ref, cell)
				}
			}
		}
	}
}
