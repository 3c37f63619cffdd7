package dataset

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"heelcohort/codebook"
)

// maxMarked is how many cells of one sheet are marked. Beyond it a sheet is
// past reading cell by cell; the sheet of findings still lists all of them.
const maxMarked = 5000

// maxListed is how many findings the sheet of findings lists.
const maxListed = 100_000

// Mark writes to outDir, for each file with findings, a workbook copy in which
// each finding's cell is filled and carries a comment. It returns the names
// written.
//
// Values, formulas and number formats of a workbook stay as they are: of a
// marked cell only the fill is changed, and a comment that stood there already
// is kept above the new one. A text file becomes a workbook of texts. Findings
// about a whole row mark the row's first cell, those about a whole sheet its
// first cell. A sheet named Findings is added to list them all. At most 5,000
// cells of a sheet are marked and 100,000 findings of a file listed; the sheet
// says so where that happened.
//
// A file that changed since Open read it is refused.
func Mark(ctx context.Context, d *Dataset, findings []Finding, outDir string) ([]string, error) {
	byFile := make(map[string][]Finding)
	for _, f := range findings {
		byFile[f.Where.File] = append(byFile[f.Where.File], f)
	}
	var written []string
	taken := make(map[string]bool)
	for _, file := range d.Files {
		found := byFile[file.Path]
		if len(found) == 0 {
			continue
		}
		if err := ctx.Err(); err != nil {
			return written, err
		}
		data, now, err := readFile(d.Dir, file.Path)
		if err != nil {
			return written, err
		}
		if now.SHA256 != file.SHA256 {
			return written, refuse(Origin{File: file.Path}, "the file changed since it was read")
		}
		sort, err := sortOf(file.Path, data)
		if err != nil {
			return written, err
		}
		name := markedName(file.Path, sort, taken)
		var out []byte
		if sort == textFile {
			out, err = markText(ctx, file.Path, data, resourceOf(d, file.Path), found)
		} else {
			out, err = markWorkbook(ctx, file.Path, data, found)
		}
		if err != nil {
			return written, err
		}
		if err := os.MkdirAll(outDir, 0o755); err != nil {
			return written, fmt.Errorf("dataset: %w", err)
		}
		if err := os.WriteFile(filepath.Join(outDir, name), out, 0o644); err != nil {
			return written, fmt.Errorf("dataset: %w", err)
		}
		written = append(written, name)
	}
	return written, nil
}

// resourceOf is the first resource that lies in a file.
func resourceOf(d *Dataset, file string) *codebook.Resource {
	for _, r := range d.Package.Resources {
		if r.Path == file {
			return r
		}
	}
	return nil
}

// markedName names the marked copy of a file: its own name, with .xlsx after
// that of a text file, and with the folders before it where two files share a
// name.
func markedName(file string, sort fileSort, taken map[string]bool) string {
	name := path.Base(file)
	if sort == textFile {
		name += ".xlsx"
	}
	if taken[strings.ToLower(name)] {
		name = strings.ReplaceAll(strings.TrimSuffix(file, path.Base(file)), "/", "-") + name
	}
	for base, n := name, 2; taken[strings.ToLower(name)]; n++ {
		name = fmt.Sprintf("%d-%s", n, base)
	}
	taken[strings.ToLower(name)] = true
	return name
}

// A mark is all that was found in one cell.
type mark struct {
	row, column int
	severity    Severity
	text        string
}

// marksOf gathers findings by cell, in order of row and column. at says where
// in the sheet a finding is marked.
func marksOf(findings []Finding, at func(Origin) (row, column int)) []mark {
	type cell struct{ row, column int }
	index := make(map[cell]int)
	var marks []mark
	for _, f := range findings {
		row, column := at(f.Where)
		c := cell{row, column}
		i, ok := index[c]
		if !ok {
			i = len(marks)
			index[c] = i
			marks = append(marks, mark{row: row, column: column, severity: f.Severity})
		} else {
			marks[i].text += "\n\n"
		}
		m := &marks[i]
		m.severity = min(m.severity, f.Severity)
		m.text += commentOf(f)
	}
	slices.SortStableFunc(marks, func(a, b mark) int {
		return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.column, b.column))
	})
	return marks
}

// commentOf is the comment for one finding.
func commentOf(f Finding) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s (%s)", f.Rule, f.Severity)
	for _, line := range []struct{ name, text string }{
		{"", f.Message}, {"found: ", f.Found}, {"expected: ", f.Expected}, {"nearest: ", f.Nearest},
	} {
		if line.text != "" {
			b.WriteString("\n" + line.name + line.text)
		}
	}
	return cutUTF16(b.String(), 2000)
}

// sheetCell is where a finding is marked in its own sheet.
func sheetCell(o Origin) (row, column int) { return max(o.Row, 1), max(o.Column, 1) }
