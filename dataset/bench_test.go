package dataset

import (
	"context"
	"fmt"
	"strings"
	"testing"
)

const benchRows, benchColumns = 100_000, 20

// benchYAML is a codebook of 20 numeric columns.
func benchYAML(path string) string {
	var b strings.Builder
	b.WriteString("name: bench\nresources:\n  - name: t\n    path: " + path + "\n    schema:\n      fields:\n")
	for j := range benchColumns {
		fmt.Fprintf(&b, "        - {name: v%d, type: number}\n", j)
	}
	return b.String()
}

func benchHead() []string {
	head := make([]string, benchColumns)
	for j := range head {
		head[j] = fmt.Sprintf("v%d", j)
	}
	return head
}

func benchOpen(b *testing.B, path string, data []byte) {
	dir := folder(b, map[string][]byte{path: data})
	pkg := decode(b, benchYAML(path))
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		d, found, err := Open(context.Background(), dir, pkg, Options{})
		if err != nil || len(found) > 0 || d.Tables[0].Len() != benchRows {
			b.Fatal(err, len(found))
		}
	}
}

func BenchmarkOpenCSV(b *testing.B) {
	var s strings.Builder
	s.WriteString(strings.Join(benchHead(), ",") + "\n")
	for i := range benchRows {
		for j := range benchColumns {
			if j > 0 {
				s.WriteByte(',')
			}
			fmt.Fprintf(&s, "%d.%d", i, j)
		}
		s.WriteByte('\n')
	}
	benchOpen(b, "t.csv", []byte(s.String()))
}

func BenchmarkOpenXLSX(b *testing.B) {
	var s strings.Builder
	s.WriteString(`<sheetData><row r="1">`)
	for j, name := range benchHead() {
		s.WriteString(text(columnLetters(j+1)+"1", name))
	}
	s.WriteString(`</row>`)
	for i := range benchRows {
		fmt.Fprintf(&s, `<row r="%d">`, i+2)
		for j := range benchColumns {
			fmt.Fprintf(&s, `<c r="%s%d"><v>%d.%d</v></c>`, columnLetters(j+1), i+2, i, j)
		}
		s.WriteString(`</row>`)
	}
	s.WriteString(`</sheetData>`)
	benchOpen(b, "t.xlsx", sheetXML(b, s.String(), "", ""))
}

func BenchmarkKeep(b *testing.B) {
	t := &Table{Name: "t", Rows: make([]int, benchRows)}
	for j := range benchColumns {
		t.Columns = append(t.Columns, &Column{
			Name: fmt.Sprintf("v%d", j), Number: make([]float64, benchRows), State: make([]State, benchRows),
			codes: codes{at: make([]uint32, benchRows)}, source: &sources{data: []byte{0}, at: make([]uint32, benchRows)},
		})
	}
	keep := make([]bool, benchRows)
	for i := range keep {
		keep[i] = i%3 == 0
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := t.Keep(keep); err != nil {
			b.Fatal(err)
		}
	}
}
