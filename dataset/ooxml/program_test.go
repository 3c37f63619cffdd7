package ooxml

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

// python writes workbooks with other programs; it gives the folder and the
// lines of cells. Where they are not installed the test is skipped, and says so.
func python(t *testing.T) (dir string, lines []string) {
	t.Helper()
	const interpreter = "/usr/bin/python3"
	if err := exec.Command(interpreter, "-c", "import openpyxl, xlsxwriter").Run(); err != nil {
		t.Skipf("SKIPPED: %s with openpyxl and xlsxwriter is not installed, so their workbooks were not read", interpreter)
	}
	dir = t.TempDir()
	out, err := exec.Command(interpreter, filepath.Join("testdata", "write.py"), dir).Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return dir, strings.Split(strings.TrimSpace(string(out)), "\n")
}

func TestOtherPrograms(t *testing.T) {
	dir, lines := python(t)
	want := map[string][]string{}
	for _, line := range lines {
		parts := strings.Split(line, "\t")
		var text string
		if err := json.Unmarshal([]byte(parts[5]), &text); err != nil {
			t.Fatal(err)
		}
		key := parts[0] + " " + parts[1]
		want[key] = append(want[key], fmt.Sprintf("%s %s %s %q", parts[2], parts[3], parts[4], text))
	}
	files, err := filepath.Glob(filepath.Join(dir, "*.xlsx"))
	if err != nil || len(files) != 4 {
		t.Fatal(files, err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		all, err := readAll(data)
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(file), err)
		}
		for sheet, cells := range all {
			key := filepath.Base(file) + " " + sheet
			var have []string
			for _, c := range cells {
				have = append(have, fmt.Sprintf("%s %s %s %q", place(c.Row, c.Cell.Column),
					[...]string{"text", "number", "boolean", "day", "error", "formula"}[c.Cell.Sort],
					[...]string{"plain", "date", "percent", "padded"}[c.Cell.Format], c.Cell.Text))
			}
			slices.Sort(have)
			slices.Sort(want[key])
			if x, y := strings.Join(have, "\n\t"), strings.Join(want[key], "\n\t"); x != y {
				t.Errorf("%s: read\n\t%s\nwant\n\t%s", key, x, y)
			}
			delete(want, key)
		}
		againstExcelize(t, file, data)
	}
	for key := range want {
		t.Errorf("%s was not read", key)
	}
}

// againstExcelize compares every cell of a workbook with what excelize reads.
func againstExcelize(t interface{ Errorf(string, ...any) }, name string, data []byte) {
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{RawCellValue: true})
	if err != nil {
		t.Errorf("%s: excelize: %v", name, err)
		return
	}
	defer f.Close()
	b, err := Open(data)
	if err != nil {
		t.Errorf("%s: %v", name, err)
		return
	}
	for i, s := range b.Sheets {
		cells, err := readSheet(b, i)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return
		}
		have := map[string]string{}
		for _, c := range cells {
			if c.Cell.Sort != Uncached && c.Cell.Text != "" {
				have[place(c.Row, c.Cell.Column)] = c.Cell.Text
			}
		}
		rows, err := f.Rows(s.Name)
		if err != nil {
			t.Errorf("%s: excelize: %v", name, err)
			return
		}
		n := 0
		for row := 1; rows.Next(); row++ {
			texts, err := rows.Columns()
			if err != nil {
				t.Errorf("%s: excelize: %v", name, err)
				return
			}
			for column, text := range texts {
				if text == "" {
					continue
				}
				n++
				ref := place(row, column+1)
				got := have[ref]
				if got != text && got != Shortest(text) && got != booleanWord([]byte(text)) {
					t.Errorf("%s, sheet %q, %s: %q, excelize reads %q", name, s.Name, ref, got, text)
				}
			}
		}
		if n != len(have) {
			t.Errorf("%s, sheet %q: %d cells, excelize reads %d", name, s.Name, len(have), n)
		}
	}
}

// toRefuse are the files of testdata/intake that its table says are refused.
func toRefuse(t *testing.T) map[string]bool {
	f, err := os.Open("../../testdata/intake/files.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	const file, want = 0, 4
	refused := map[string]bool{}
	for _, line := range lines {
		if strings.HasPrefix(line[want], "refused") {
			refused[filepath.Join("../../testdata/intake", line[file])] = true
		}
	}
	return refused
}

// Every workbook that lies in the tree for other tests, but for those made to
// be refused: the table of testdata/intake says which, others stand in folders
// or under names that say so.
func TestWorkbooksOfTheTree(t *testing.T) {
	refused := toRefuse(t)
	compared := 0
	for _, root := range []string{"../../testdata", "../testdata", "../../cmd"} {
		err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.EqualFold(filepath.Ext(path), ".xlsx") {
				return err
			}
			data, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for _, word := range []string{"hostile", "damaged", "refused", "broken", "bomb"} {
				if strings.Contains(strings.ToLower(path), word) {
					t.Logf("%s is passed over", path)
					return nil
				}
			}
			if !bytes.HasPrefix(data, []byte("PK")) || refused[path] {
				t.Logf("%s is passed over", path)
				return nil
			}
			compared++
			againstExcelize(t, path, data)
			return nil
		})
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
	}
	if compared < 60 {
		t.Errorf("%d workbooks compared, expected those of testdata/intake", compared)
	}
}

// Workbooks that excelize writes at random, also turned into the strict
// variant of the format.
func TestExcelizeWrites(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		f := excelize.NewFile()
		defer f.Close()
		for range rapid.IntRange(0, 12).Draw(rt, "cells") {
			ref := place(rapid.IntRange(1, 6).Draw(rt, "row"), rapid.IntRange(1, 5).Draw(rt, "column"))
			var v any
			switch rapid.IntRange(0, 4).Draw(rt, "sort") {
			case 0:
				v = rapid.Float64().Draw(rt, "number")
			case 1:
				v = rapid.IntRange(-1_000_000, 1_000_000).Draw(rt, "integer")
			case 2:
				v = rapid.Bool().Draw(rt, "truth")
			default:
				v = rapid.OneOf(rapid.SampledFrom([]string{" x ", "a\nb", "<&>", "007", "NA", "ä–≤", "_x_"}), rapid.StringMatching(`[ -~äß東]{0,12}`)).Draw(rt, "text")
			}
			if err := f.SetCellValue("Sheet1", ref, v); err != nil {
				rt.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			rt.Fatal(err)
		}
		againstExcelize(rt, "transitional", b.Bytes())
		a, err := readAll(b.Bytes())
		if err != nil {
			rt.Fatal(err)
		}
		s, err := readAll(strictly(b.Bytes()))
		if err != nil {
			rt.Fatal(err)
		}
		if x, y := show(a["Sheet1"]), show(s["Sheet1"]); x != y {
			rt.Fatalf("strict %s, transitional %s", y, x)
		}
	})
}

// strictly rewrites a workbook into the strict variant.
func strictly(data []byte) []byte {
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		panic(err)
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, f := range r.File {
		in, err := f.Open()
		if err != nil {
			panic(err)
		}
		part, err := io.ReadAll(in)
		if err != nil {
			panic(err)
		}
		w, err := z.Create(f.Name)
		if err != nil {
			panic(err)
		}
		if _, err := strings.NewReplacer(mainNS, strictNS, relNS, strictR).WriteString(w, string(part)); err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}
