package draft

import (
	"context"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// cellsOf makes the cells of a text file's column.
func cellsOf(texts ...string) []dataset.GridCell {
	cells := make([]dataset.GridCell, len(texts))
	for i, text := range texts {
		cells[i] = dataset.GridCell{Text: text}
	}
	return cells
}

// stored makes numbers of a workbook.
func stored(texts ...string) []dataset.GridCell {
	cells := cellsOf(texts...)
	for i := range cells {
		cells[i].Stored = dataset.StoredNumber
	}
	return cells
}

// times repeats cells.
func times(n int, cells ...dataset.GridCell) (list []dataset.GridCell) {
	for range n {
		list = append(list, cells...)
	}
	return list
}

// guessOf profiles a column.
func guessOf(title string, cells ...dataset.GridCell) guess {
	return profile(title, newColumn(title, cells...).seen, false)
}

// reason is the reason given for a guess.
func (g *guess) reason(key string) string {
	for _, p := range g.why {
		if p.key == key {
			return p.text
		}
	}
	return ""
}

// rowsOf makes the rows of a text: lines of cells with | between them.
func rowsOf(text string) iter.Seq2[dataset.GridRow, error] {
	return func(yield func(dataset.GridRow, error) bool) {
		for i, line := range strings.Split(strings.TrimSuffix(text, "\n"), "\n") {
			row := dataset.GridRow{Number: i + 1}
			for cell := range strings.SplitSeq(line, "|") {
				row.Cells = append(row.Cells, dataset.GridCell{Text: cell})
			}
			if !yield(row, nil) {
				return
			}
		}
	}
}

// draftFiles writes files into a folder and drafts them in order of their
// names as given.
func draftFiles(t testing.TB, names []string, texts ...string) (*Draft, string) {
	t.Helper()
	dir := t.TempDir()
	for i, name := range names {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(texts[i]), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	d, err := Files(context.Background(), dir, names)
	if err != nil {
		t.Fatal(err)
	}
	return d, dir
}

// checked decodes a draft and checks its files against it. That neither is
// refused is what every draft promises.
func checked(t testing.TB, d *Draft, dir string) (*codebook.Package, []dataset.Finding) {
	t.Helper()
	pkg, err := codebook.Decode("codebook.yaml", []byte(d.Text))
	if err != nil {
		t.Fatalf("%v\n%s", err, d.Text)
	}
	data, findings, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil {
		t.Fatalf("%v\n%s", err, d.Text)
	}
	more, err := dataset.Validate(context.Background(), data)
	if err != nil {
		t.Fatal(err)
	}
	return pkg, append(findings, more...)
}
