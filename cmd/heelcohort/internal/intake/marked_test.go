package intake

import (
	"archive/zip"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/demo"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

// markedFiles are workbooks of testdata/intake with findings, by programs that
// write them in different ways.
var markedFiles = []string{
	"many-digits.xlsx", "error-cells.xlsx", "formula-without-value.xlsx", "date-with-time.xlsx", "date-as-text.xlsx", "merged-values.xlsx",
	"merged-across.xlsx", "hidden-rows.xlsx", "note-below.xlsx", "lone-cell-right.xlsx", "boolean-in-number.xlsx",
	"thin-space-thousands.xlsx", "pandas-index.xlsx", "float-dust.xlsx", "number-garbage.xlsx", "header-again-inside.xlsx",
}

// faultyBook is a codebook under which every workbook of the study has
// findings, so that one of each program is marked.
const faultyBook = "age.constraints={\"maximum\": 9} ; side.categories=[\"left\", \"right\"] ; seen.constraints={\"maximum\": \"2021-02-01\"}"

// markedSame are workbooks of same.csv that are marked under faultyBook.
var markedSame = []string{
	"openpyxl-1904.xlsx", "xlsxwriter-rich.xlsx", "xlsxwriter-formulas.xlsx", "xlsxwriter-inline.xlsx", "pandas-xlsxwriter.xlsx", "openxlsx.xlsx",
	"excelize-stream.xlsx", "libreoffice.xlsx", "libreoffice-ooxml.xlsx", "libreoffice-of-xlsxwriter-rich.xlsx", "furnished.xlsx",
	"dates-d-mmm-yy.xlsx", "dates-locale.xlsx", "formatted-below.xlsx", "raw-shared.xlsx", "strict-shared.xlsx", "strict-iso-days.xlsx", "prefixed.xlsx",
	"no-references.xlsx", "percent.xlsx",
}

// A markedPair is a workbook and its marked copy.
type markedPair struct {
	name             string
	original, marked string
}

// markedPairs marks the workbooks above and the demonstration's faulty one.
func markedPairs(t *testing.T) []markedPair {
	t.Helper()
	var pairs []markedPair
	mark := func(name, dir string, p *codebook.Package) {
		t.Helper()
		ctx := context.Background()
		d, found, err := dataset.Open(ctx, dir, p, dataset.Options{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		more, err := dataset.Validate(ctx, d)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		out := t.TempDir()
		names, err := dataset.Mark(ctx, d, append(found, more...), out)
		if err != nil || len(names) != 1 {
			t.Fatalf("%s: %d marked copies (%v)", name, len(names), err)
		}
		pairs = append(pairs, markedPair{name: name, original: filepath.Join(dir, filepath.FromSlash(d.Files[0].Path)), marked: filepath.Join(out, names[0])})
	}
	for _, f := range markedFiles {
		p, err := book(t, f, "base")
		if err != nil {
			t.Fatal(err)
		}
		mark(f, filepath.Join(folder, "files"), p)
	}
	for _, f := range markedSame {
		p, err := book(t, f, faultyBook)
		if err != nil {
			t.Fatal(err)
		}
		mark(f, filepath.Join(folder, "same"), p)
	}
	dir := t.TempDir()
	if err := demo.Write(context.Background(), dir, demo.WriteOptions{Faulty: true}); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(dir, "codebook.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	p, err := codebook.Decode("codebook.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	mark("demo-faulty.xlsx", dir, p)
	return pairs
}

// TestMarked wants every cell of a marked copy stored with the same digits,
// letters and formula as in the original, and then, where LibreOffice is
// installed, shown by it with the same type, value, formula, text and number
// format.
func TestMarked(t *testing.T) {
	if testing.Short() {
		t.Skip("marking 38 workbooks takes a minute")
	}
	pairs := markedPairs(t)
	t.Run("stored", func(t *testing.T) {
		for _, p := range pairs {
			before, sheets := storedCells(t, p.original)
			after, _ := storedCells(t, p.marked)
			// The list of findings is the last sheet of the copy.
			list := fmt.Sprintf("sheet%d!", sheets+1)
			compareCells(t, p.name, list, before, after)
		}
	})
	t.Run("LibreOffice", func(t *testing.T) { inLibreOffice(t, pairs) })
}

func inLibreOffice(t *testing.T, pairs []markedPair) {
	office, err := exec.LookPath("soffice")
	if err != nil {
		t.Skip("SKIPPED: soffice is not installed, so marked copies were not opened in LibreOffice")
	}
	in, out := t.TempDir(), t.TempDir()
	args := []string{"-env:UserInstallation=file://" + t.TempDir(), "--headless", "--convert-to", "fods", "--outdir", out}
	for i, p := range pairs {
		for side, from := range map[string]string{"original": p.original, "marked": p.marked} {
			name := filepath.Join(in, fmt.Sprintf("%d-%s.xlsx", i, side))
			copyAny(t, from, name)
			args = append(args, name)
		}
	}
	slices.Sort(args[6:])
	if said, err := exec.Command(office, args...).CombinedOutput(); err != nil {
		t.Fatalf("soffice: %v\n%s", err, said)
	}
	for i, p := range pairs {
		before := flatCells(t, filepath.Join(out, fmt.Sprintf("%d-original.fods", i)))
		after := flatCells(t, filepath.Join(out, fmt.Sprintf("%d-marked.fods", i)))
		compareCells(t, p.name, "Findings!", before, after)
	}
}

// compareCells wants all cells of before in after, and no others but those of
// the list of findings.
func compareCells(t *testing.T, name, list string, before, after map[string]string) {
	t.Helper()
	if len(before) == 0 {
		t.Errorf("%s: no cells were read", name)
	}
	shown := 0
	complain := func(place, was, is string) {
		if shown++; shown <= 3 {
			t.Errorf("%s: %s was %q, is %q", name, place, was, is)
		}
	}
	for _, place := range sortedKeys(before) {
		if before[place] != after[place] {
			complain(place, before[place], after[place])
		}
	}
	for _, place := range sortedKeys(after) {
		if _, there := before[place]; !there && !strings.HasPrefix(place, list) {
			complain(place, "", after[place])
		}
	}
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func copyAny(t testing.TB, from, to string) {
	t.Helper()
	data, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, data, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// storedCells reads how a workbook stores its cells: value with its digits,
// text with its blanks, formula; and how many sheets it has, which are named by
// their order.
func storedCells(t testing.TB, name string) (cells map[string]string, sheets int) {
	t.Helper()
	z, err := zip.OpenReader(name)
	if err != nil {
		t.Fatal(err)
	}
	defer z.Close()
	part := func(name string) *element {
		f, err := z.Open(name)
		if err != nil {
			return &element{}
		}
		defer f.Close()
		data, err := io.ReadAll(f)
		if err != nil {
			t.Fatal(err)
		}
		root := parseXML(t, data)
		bare(root)
		return root
	}
	var shared []string
	part("xl/sharedStrings.xml").each("si", func(e *element) { shared = append(shared, storedText(e)) })
	cells = map[string]string{}
	for n := 1; ; n++ {
		sheet := part(fmt.Sprintf("xl/worksheets/sheet%d.xml", n))
		if sheet.name == "" && len(sheet.children) == 0 {
			return cells, n - 1
		}
		row := 0
		sheet.each("row", func(r *element) {
			row++
			if _, err := fmt.Sscan(r.attrs["r"], &row); err != nil && r.attrs["r"] != "" {
				t.Fatal(err)
			}
			for column, c := range r.children {
				place := c.attrs["r"]
				if place == "" {
					place = string(rune('A'+column)) + fmt.Sprint(row)
				}
				kind, text := c.attrs["t"], ""
				for _, v := range c.children {
					switch v.name {
					case "v":
						if v.words() == "" {
							continue
						}
						text += "v " + v.words()
						var index int
						if kind == "s" {
							if _, err := fmt.Sscan(v.words(), &index); err != nil || index >= len(shared) {
								t.Fatalf("%s: %s: shared text %q", name, place, v.words())
							}
							text = "text " + shared[index]
						}
					case "is":
						text += "text " + storedText(v)
					case "f":
						text += "f " + v.words()
					}
				}
				if kind == "s" || kind == "inlineStr" {
					kind = "text"
				}
				if kind == "n" {
					kind = ""
				}
				if text == "" {
					continue
				}
				cells[fmt.Sprintf("sheet%d!%s", n, place)] = kind + " " + text
			}
		})
	}
}

// storedText is a text of one or several fonts, without phonetic help.
func storedText(e *element) string {
	text := ""
	for _, c := range e.children {
		switch c.name {
		case "t":
			text += c.words()
		case "r":
			text += storedText(c)
		}
	}
	return text
}

// bare takes the prefixes off all names.
func bare(e *element) {
	if _, local, ok := strings.Cut(e.name, ":"); ok {
		e.name = local
	}
	for _, c := range e.children {
		bare(c)
	}
}
