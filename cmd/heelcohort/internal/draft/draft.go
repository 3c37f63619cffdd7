package draft

import (
	"context"
	"path"
	"strings"
	"unicode"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// A Draft is a codebook made of guesses.
type Draft struct {
	Text    string   // the codebook as YAML, which codebook.Decode accepts
	Tables  int      // tables in it
	LeftOut []string // sheets and columns that could not be drafted, each with its reason
}

// Files drafts a codebook of the given data files, named relative to dir, the
// folder that the codebook will lie in. A file that cannot be read is an error;
// a sheet that is no table is left out and listed. An error is returned too
// where no table is left.
func Files(ctx context.Context, dir string, names []string) (*Draft, error) {
	var sheets []*sheet
	for _, name := range names {
		found, err := readFile(ctx, dir, name)
		if err != nil {
			return nil, err
		}
		sheets = append(sheets, found...)
	}
	return draftOf(sheets)
}

func readFile(ctx context.Context, dir, name string) (sheets []*sheet, err error) {
	g, err := dataset.OpenGrid(dir, name)
	if err != nil {
		return nil, err
	}
	defer func() {
		if e := g.Close(); err == nil {
			err = e
		}
	}()
	for i := range g.Sheets {
		s, err := readSheet(ctx, g, i)
		if err != nil {
			return nil, err
		}
		sheets = append(sheets, s)
	}
	return sheets, nil
}

// A table is a sheet with the guesses of its columns.
type table struct {
	*sheet
	id      string // name of the table
	fields  []*field
	primary []string
	foreign []foreignKey
	why     []pair
}

// A field is a column with its guess.
type field struct {
	guess
	column *column
	id     string // name of the variable
}

// A foreignKey is a suspected one, of one variable.
type foreignKey struct {
	field, table, reference string
	why                     string
}

// place names a sheet for messages.
func (s *sheet) place() string {
	return dataset.Origin{File: s.path, Sheet: s.name}.String()
}

// draftOf guesses tables of sheets.
func draftOf(sheets []*sheet) (*Draft, error) {
	d := &Draft{}
	var tables []*table
	var ids []string
	for _, s := range sheets {
		if s.refused != "" {
			d.LeftOut = append(d.LeftOut, s.place()+": "+s.refused)
			continue
		}
		t := &table{sheet: s}
		d.LeftOut = append(d.LeftOut, t.profile()...)
		if len(t.fields) == 0 {
			d.LeftOut = append(d.LeftOut, s.place()+": no column can be drafted")
			continue
		}
		tables = append(tables, t)
		id := s.name
		if id == "" || len(sheets) > 1 && strings.HasPrefix(strings.ToLower(id), "sheet") {
			id = strings.TrimSuffix(path.Base(s.path), path.Ext(s.path)) + " " + s.name
		}
		if id = identifier(strings.TrimSpace(id)); id == "" {
			id = "table"
		}
		ids = append(ids, id)
	}
	if len(tables) == 0 {
		return nil, &NoTableError{Reasons: d.LeftOut}
	}
	unique(ids)
	for i, t := range tables {
		t.id = ids[i]
	}
	findKeys(tables)
	d.Tables = len(tables)
	d.Text = write(tables, d.LeftOut)
	if _, err := codebook.Decode("codebook.yaml", []byte(d.Text)); err != nil {
		return nil, err
	}
	return d, nil
}

// A NoTableError says why no table could be drafted.
type NoTableError struct{ Reasons []string }

// Error gives the reasons, one a line.
func (e *NoTableError) Error() string {
	return "no table can be drafted: " + strings.Join(e.Reasons, "\n  ")
}

// profile guesses the columns and names them.
func (t *table) profile() (leftOut []string) {
	var titles []string
	for _, c := range t.columns {
		if !sayable(c.title) {
			where := dataset.Origin{File: t.path, Sheet: t.name, Row: t.header, Column: c.at}
			leftOut = append(leftOut, where.String()+": the column's name holds a line break or another control character; rename it in the file")
			continue
		}
		f := &field{guess: profile(c.title, c.seen, t.name != ""), column: c}
		if c.doubled {
			f.note("another column has the same title; only its place tells them apart")
		}
		t.fields = append(t.fields, f)
		titles = append(titles, c.title)
	}
	for i, name := range variableNames(titles) {
		t.fields[i].id = name
	}
	return leftOut
}

// sayable reports whether a codebook can say a column's name.
func sayable(title string) bool {
	return !strings.ContainsFunc(title, unicode.IsControl) && strings.TrimFunc(title, around) == title
}
