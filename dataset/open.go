package dataset

import (
	"context"
	"slices"

	"heelcohort/codebook"
	"heelcohort/dataset/delimited"
)

// A File is one data file that was read.
type File struct {
	Path   string // relative to the study folder, with slashes
	SHA256 string
	Bytes  int64
	// Text is how a text file turned out to be written; nil of a workbook.
	Text *delimited.Found
}

// Note says in a line how a text file was read: "data/visits.csv: UTF-8,
// commas, LF". It is "" for a workbook.
func (f File) Note() string {
	if f.Text == nil {
		return ""
	}
	return f.Path + ": " + f.Text.String()
}

// A Dataset is every table of a study, read against its codebook.
type Dataset struct {
	Dir     string
	Package *codebook.Package
	Tables  []*Table
	Files   []File

	// Exceptions lists the columns that the codebook lets through the screen
	// for identifiers, by table, variable and screen. Screen fills it.
	Exceptions []Exception

	masked  map[[2]string]bool                  // table and variable whose cells are not shown; Screen fills it
	screens map[*codebook.Resource]*sheetScreen // of cells that no variable is for
	others  []*otherSheet                       // sheets that the codebook does not know
	books   []Finding                           // about workbooks as such
}

// Options of Open; the zero value is the default.
type Options struct {
	// Progress, when not nil, is told the share done of each file.
	Progress func(file string, done, total int64)
}

// Table finds a table by name, or nil.
func (d *Dataset) Table(name string) *Table {
	for _, t := range d.Tables {
		if t.Name == name {
			return t
		}
	}
	return nil
}

// Open reads every resource of the codebook from dir. Faults of single cells
// and rows are findings; what cannot be read at all (no such file, sheet or
// column) is an error that says where and gives the nearest word.
//
// Findings come in order of table, row, column and rule. Empty rows are left
// out, with a warning where data follow them. A row of a text file that is
// shorter or longer than its head is kept with every cell invalid, for no cell
// of it can be told to stand in its place.
func Open(ctx context.Context, dir string, pkg *codebook.Package, opts Options) (*Dataset, []Finding, error) {
	d := &Dataset{Dir: dir, Package: pkg, screens: make(map[*codebook.Resource]*sheetScreen)}
	// Files are read one after the other, so that no more than one is held in
	// memory, each with all the tables that lie in it.
	tables := make(map[*codebook.Resource]*Table, len(pkg.Resources))
	var findings []Finding
	var paths []string
	for _, r := range pkg.Resources {
		if !slices.Contains(paths, r.Path) {
			paths = append(paths, r.Path)
		}
	}
	for _, path := range paths {
		var here []*codebook.Resource
		for _, r := range pkg.Resources {
			if r.Path == path {
				here = append(here, r)
			}
		}
		file, found, err := d.openFile(ctx, path, here, tables, opts.Progress)
		if err != nil {
			return nil, nil, err
		}
		d.Files = append(d.Files, file)
		findings = append(findings, found...)
	}
	for _, r := range pkg.Resources {
		d.Tables = append(d.Tables, tables[r])
	}
	suggestEncoding(findings, d.Files)
	SortFindings(d, findings)
	return d, findings, nil
}

// openFile reads all tables of one file.
func (d *Dataset) openFile(ctx context.Context, path string, resources []*codebook.Resource, tables map[*codebook.Resource]*Table, tell func(string, int64, int64)) (File, []Finding, error) {
	data, file, err := readFile(d.Dir, path)
	if err != nil {
		return File{}, nil, err
	}
	for _, r := range resources {
		if err := checkFile(file, r); err != nil {
			return File{}, nil, err
		}
	}
	sort, err := sortOf(path, data)
	if err != nil {
		return File{}, nil, err
	}
	p := progress{tell: tell, file: path, screens: d.screens}
	if sort == textFile {
		if len(resources) > 1 {
			return File{}, nil, refuse(Origin{File: path}, "tables %q and %q both lie in this text file", resources[0].Name, resources[1].Name)
		}
		r := resources[0]
		if r.Sheet != "" {
			return File{}, nil, refuse(Origin{File: path}, "a text file has no sheet %q", r.Sheet)
		}
		found, err := openText(ctx, &file, data, r, tables, &p)
		return file, found, err
	}
	w, err := openWorkbook(path, data)
	if err != nil {
		return File{}, nil, err
	}
	found, err := w.tables(ctx, resources, tables, &p)
	if err == nil {
		err = d.screenBook(ctx, w, resources)
	}
	return file, found, err
}

// tables reads the sheets that hold the given resources.
func (w *workbookReader) tables(ctx context.Context, resources []*codebook.Resource, tables map[*codebook.Resource]*Table, p *progress) ([]Finding, error) {
	sheets := make([]int, len(resources))
	for i, r := range resources {
		at, err := w.find(r.Sheet)
		if err != nil {
			return nil, err
		}
		sheet := w.book.Sheets[at]
		if first := slices.Index(sheets[:i], at); first >= 0 {
			return nil, refuse(Origin{File: w.file, Sheet: sheet.Name}, "tables %q and %q both lie in this sheet", resources[first].Name, r.Name)
		}
		sheets[i] = at
		p.total += sheet.Bytes
	}
	var findings []Finding
	for i, r := range resources {
		source, err := w.rows(sheets[i])
		if err != nil {
			return nil, err
		}
		t, found, err := readTable(ctx, source, source.where, r, w.book.Date1904, p)
		if e := source.close(); err == nil && e != nil {
			err = &ReadError{Where: source.where, Message: "the sheet is damaged: " + e.Error(), Err: e}
		}
		if err != nil {
			return nil, err
		}
		tables[r] = t
		findings = append(findings, found...)
		p.finish(source)
	}
	return findings, nil
}

// A progress tells how much of a file was read, over all its tables.
type progress struct {
	tell          func(file string, done, total int64)
	file          string
	before, total int64
	screens       map[*codebook.Resource]*sheetScreen // filled while tables are read
}

// report tells how far the current table's source has come.
func (p *progress) report(s rowSource) {
	if p.tell != nil {
		n, _ := s.done()
		p.tell(p.file, min(p.before+n, p.total), p.total)
	}
}

// finish counts the current table's source as read whole.
func (p *progress) finish(s rowSource) {
	_, total := s.done()
	p.before += total
	if p.tell != nil {
		p.tell(p.file, min(p.before, p.total), p.total)
	}
}
