package dataset

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
)

// TemplateOptions of WriteTemplate; the zero value is the default.
type TemplateOptions struct {
	Rows int // rows of each table that are validated; 0 is 5,000
}

// DefaultTemplateRows is how many rows of a table are validated by default.
const DefaultTemplateRows = 5000

// Names of the sheets beside those of the tables.
const (
	guideName = "guide"
	listName  = "lists"
)

// ownSheet reports whether a sheet of no table is one that a template has
// anyway. Nobody enters data there, so that it is screened for what names
// people alone.
func ownSheet(name string) bool { return name == guideName || name == listName }

// WriteTemplate writes an empty workbook for entering the data of a codebook:
// one sheet a table, with the variables' names in the declared header row, and
// in front of them a guide to every variable. Cells take no more than the
// codebook allows: categories and missing codes from a list, numbers and dates
// within their limits or a missing code, lengths and unique keys. What a
// spreadsheet program cannot check (patterns, rules between variables) is for
// Open to find; what is legal is never refused, but for numbers written with
// their unit.
//
// It returns notes: what must be done so that the codebook finds the tables in
// a filled copy. The bytes depend on codebook and options alone.
func WriteTemplate(w io.Writer, p *codebook.Package, opts TemplateOptions) (notes []string, err error) {
	if opts.Rows <= 0 {
		opts.Rows = DefaultTemplateRows
	}
	f := excelize.NewFile()
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	f.ZipWriter = newSortedArchive
	t := &template{file: f, pack: p, rows: opts.Rows, sheets: map[string]string{}}
	if err := t.style(); err != nil {
		return nil, err
	}
	if notes, err = t.names(); err != nil {
		return nil, err
	}
	if err := t.guide(notes); err != nil {
		return nil, fmt.Errorf("dataset: the guide: %w", err)
	}
	for _, r := range p.Resources {
		if err := t.table(r); err != nil {
			return nil, fmt.Errorf("dataset: the sheet of table %q: %w", r.Name, err)
		}
	}
	if err := t.finish(); err != nil {
		return nil, err
	}
	return notes, f.Write(w)
}

// A template is a workbook for entering data in the making.
type template struct {
	file       *excelize.File
	pack       *codebook.Package
	rows       int
	sheets     map[string]string // of the tables, by their names
	guideSheet string
	listSheet  string
	lists      int // columns used on the sheet of lists
	styles     templateStyles
}

// names makes the sheets in their order: the guide, the tables, the lists.
func (t *template) names() ([]string, error) {
	taken := map[string]bool{}
	var notes, order []string
	for _, r := range t.pack.Resources {
		want := r.Sheet
		if want == "" {
			want = r.Name
		}
		name := uniqueSheetName(want, taken)
		t.sheets[r.Name] = name
		order = append(order, name)
		switch {
		case !strings.HasSuffix(strings.ToLower(r.Path), ".xlsx"):
			notes = append(notes, fmt.Sprintf("Table %s is read from %s: save the filled sheet %q as that file.", r.Name, r.Path, name))
		case r.Sheet == "":
			notes = append(notes, fmt.Sprintf("The codebook names no sheet for table %s, which is read from the only sheet of %s: name the sheet %q in the codebook, or keep the filled sheet in a workbook of its own.", r.Name, r.Path, name))
		case name != r.Sheet:
			notes = append(notes, fmt.Sprintf("Table %s has the sheet %q here, for no two sheets may have the same name; give it the name %q in the file %s.", r.Name, name, r.Sheet, r.Path))
		}
	}
	var files []string
	for _, r := range t.pack.Resources {
		if strings.HasSuffix(strings.ToLower(r.Path), ".xlsx") && !contains(files, r.Path) {
			files = append(files, r.Path)
		}
	}
	if len(files) > 1 {
		notes = append(notes, fmt.Sprintf("The tables lie in %d workbooks (%s): move the filled sheets there.", len(files), strings.Join(files, ", ")))
	}
	t.guideSheet, t.listSheet = uniqueSheetName(guideName, taken), uniqueSheetName(listName, taken)
	if err := t.file.SetSheetName("Sheet1", t.guideSheet); err != nil {
		return nil, err
	}
	for _, name := range append(order, t.listSheet) {
		if _, err := t.file.NewSheet(name); err != nil {
			return nil, err
		}
	}
	return notes, nil
}

func contains(list []string, word string) bool {
	for _, w := range list {
		if w == word {
			return true
		}
	}
	return false
}

// finish hides the lists and fixes what would differ from run to run.
func (t *template) finish() error {
	if t.lists == 0 {
		if err := t.file.DeleteSheet(t.listSheet); err != nil {
			return err
		}
	} else if err := t.file.SetSheetVisible(t.listSheet, false); err != nil {
		return err
	}
	t.file.SetActiveSheet(0)
	return setAuthor(t.file)
}

// A templateColumn is a variable's column with the rows to fill.
type templateColumn struct {
	table       *codebook.Resource
	field       *codebook.Field
	letters     string
	first, last int // rows
}

// cell is the first cell, as formulas name it.
func (c templateColumn) cell() string { return c.letters + strconv.Itoa(c.first) }

// area is the cells to fill.
func (c templateColumn) area() string {
	return fmt.Sprintf("%s%d:%s%d", c.letters, c.first, c.letters, c.last)
}

// fixed is the area as formulas name it from any cell.
func (c templateColumn) fixed() string {
	return fmt.Sprintf("$%s$%d:$%s$%d", c.letters, c.first, c.letters, c.last)
}

// column is the place of the i-th variable of a table.
func (t *template) column(r *codebook.Resource, i int) templateColumn {
	return templateColumn{
		table: r, field: r.Schema.Fields[i], letters: columnLetters(i + 1),
		first: r.HeaderRow + 1, last: min(r.HeaderRow+t.rows, maxRows),
	}
}
