package dataset

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook/identifier"
	"heelcohort/codebook/value"
)

// An Exception is a column that the codebook lets through a screen for
// identifiers, with the reason that it gives.
type Exception struct {
	Table, Variable string
	Screen          string // name of the screen
	Reason          string
	Cells           int // that the screen held
}

// Screen looks for identifiers in every column of every table, in columns and
// sheets that the codebook does not know, in the rows above the header, and in
// what a workbook says of itself; and for groups of people too small to hide
// in. It returns the given findings with its own added, in their order, and
// notes in d the exceptions that the codebook makes.
//
// No finding carries the text of a cell of a column that is held identifying:
// those of other rules are masked too. Findings of d must not be shown to
// anyone before they went through here.
func Screen(ctx context.Context, d *Dataset, findings []Finding) ([]Finding, error) {
	s := &screening{d: d, masked: map[[2]string]bool{}}
	s.d.Exceptions = nil
	s.gather()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.births()
	for _, k := range s.columns {
		s.verdicts(k)
	}
	s.unknownSheets()
	s.found = append(s.found, d.books...)
	for _, t := range d.Tables {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		found, err := smallCells(d, t)
		if err != nil {
			return nil, err
		}
		s.found = append(s.found, found...)
	}
	d.masked = s.masked
	all := make([]Finding, 0, len(findings)+len(s.found))
	for _, f := range findings {
		all = append(all, s.mask(f))
	}
	all = append(all, s.found...)
	SortFindings(d, all)
	return all, nil
}

// Masked reports whether the cells of a variable are not to be shown, because
// the screen for identifiers holds them. It knows after Screen.
func (d *Dataset) Masked(table, variable string) bool { return d.masked[[2]string{table, variable}] }

// A screening is the screen at work.
type screening struct {
	d       *Dataset
	columns []*screened
	found   []Finding
	masked  map[[2]string]bool // table and variable whose cells are not shown
}

// A screened column is one column with its place.
type screened struct {
	cells  *identifier.Column
	where  Origin // of the header cell
	table  *Table // nil for a sheet that no table lies in
	column *Column
	name   string // for messages
	direct bool   // only what names people counts: the sheet is of the program's own making
}

// gather gives every cell of the tables to its column's screen.
func (s *screening) gather() {
	for _, t := range s.d.Tables {
		where := Origin{File: t.File, Sheet: t.Sheet, Row: max(t.Resource.HeaderRow, 1)}
		if screen := s.d.screens[t.Resource]; screen != nil {
			s.unknown(screen, where, t)
		}
		for _, c := range t.Columns {
			if !c.HasSource() || c.Field == nil {
				continue
			}
			k := &screened{cells: screenColumn(t, c), where: where, table: t, column: c, name: c.Name}
			k.where.Column = c.Index
			s.columns = append(s.columns, k)
		}
	}
	for _, o := range s.d.others {
		s.unknown(&o.screen, Origin{File: o.where.File, Sheet: o.where.Sheet, Row: o.screen.head}, nil)
	}
}

// unknown adds the columns and rows that no field is for.
func (s *screening) unknown(screen *sheetScreen, where Origin, t *Table) {
	for _, i := range byIndex(screen.upper) {
		k := &screened{cells: screen.upper[i], where: where, table: t, name: "a row above the header"}
		k.where.Row, k.where.Column = 1, i+1
		s.columns = append(s.columns, k)
	}
	for _, i := range byIndex(screen.columns) {
		k := &screened{cells: screen.columns[i], where: where, table: t, name: "column " + shownTitle(screen.title(i), i+1)}
		k.where.Column = i + 1
		k.direct = t == nil && ownSheet(where.Sheet)
		s.columns = append(s.columns, k)
	}
}

// shownTitle is a title as messages show it: the column's number where it has
// none, or where the title itself holds a name or an address.
func shownTitle(title string, column int) string {
	if title == "" || identifier.Shows(title) {
		return strconv.Itoa(column)
	}
	return strconv.Quote(title)
}

// screenColumn gives a column's cells to its screen. Cells that the codebook
// knows are only counted.
func screenColumn(t *Table, c *Column) *identifier.Column {
	out := identifier.NewColumn(identifier.About{
		Titles: []string{c.Name, c.Label}, Key: isKey(t, c), Code: isKey(t, c) && c.Field.Constraints.Pattern != "",
		FreeText: c.Field.Role == "free_text",
	})
	known := 0
	for i, state := range c.State {
		text := c.Source(i)
		switch {
		case state == Missing:
		case state == Invalid:
			out.Text(t.Rows[i], text)
		case c.Kind == value.Date:
			out.Day(t.Rows[i], int(c.Number[i]))
		case c.Kind == value.Number:
			out.Number(t.Rows[i], text)
		case c.Kind == value.Text && c.Words == nil:
			out.Text(t.Rows[i], text)
		default:
			known++
		}
	}
	out.Known(known)
	return out
}

// isKey reports whether the codebook declares a column a key, a part of one, or
// an identifier.
func isKey(t *Table, c *Column) bool {
	s := &t.Resource.Schema
	if c.Field.Role == "identifier" || c.Field.Constraints.Unique || slices.Contains(s.PrimaryKey, c.Name) {
		return true
	}
	for _, k := range s.UniqueKeys {
		if slices.Contains(k, c.Name) {
			return true
		}
	}
	for _, k := range s.ForeignKeys {
		if slices.Contains(k.Fields, c.Name) {
			return true
		}
	}
	return false
}

// births holds columns of dates that lie before all others.
func (s *screening) births() {
	cells := make([]*identifier.Column, len(s.columns))
	for i, k := range s.columns {
		cells[i] = k.cells
	}
	for i, birth := range identifier.BirthDates(cells) {
		if birth {
			cells[i].HoldBirthDates()
		}
	}
}

// verdicts makes the findings of one column.
func (s *screening) verdicts(k *screened) {
	var through []string
	reason := ""
	if k.column != nil {
		through, reason = k.column.Field.Exception.Screens, k.column.Field.Exception.Reason
	}
	for _, v := range k.cells.Verdicts() {
		if k.direct && !v.Screen.Direct {
			continue
		}
		let := slices.Contains(through, v.Screen.Name)
		if k.column != nil && (v.Screen.Direct || !let && v.Screen.Name != identifier.Residence) {
			s.masked[[2]string{k.table.Name, k.column.Name}] = true
		}
		if let {
			s.d.Exceptions = append(s.d.Exceptions, Exception{
				Table: k.table.Name, Variable: k.column.Name, Screen: v.Screen.Name, Reason: reason, Cells: v.Count,
			})
			continue
		}
		s.found = append(s.found, k.findings(v)...)
	}
	for _, name := range through {
		if !k.cells.Holds(name) {
			f := k.finding(Warning, RuleException)
			f.Message = fmt.Sprintf("%s: the codebook lets it through the screen %q, which holds nothing of it; remove the exception", k.name, name)
			f.Expected = "an exception that is needed"
			s.found = append(s.found, f)
		}
	}
}

// finding is one at the column's header.
func (k *screened) finding(severity Severity, rule string) Finding {
	f := Finding{Rule: rule, Severity: severity, Where: k.where}
	if k.table != nil {
		f.Table = k.table.Name
	}
	if k.column != nil {
		f.Variable = k.column.Name
	}
	return f
}

// findings are those of a verdict: one at the header for a column as a whole,
// else one a cell.
func (k *screened) findings(v identifier.Verdict) []Finding {
	severity := Warning
	if v.Screen.Direct {
		severity = Error
	}
	f := k.finding(severity, v.Screen.Name)
	f.Screen = v.Screen.Name
	if v.Run {
		f.Message = k.sentence(v)
		return []Finding{f}
	}
	var out []Finding
	for _, row := range v.Rows {
		g := f
		g.Where.Row = row
		g.Message = fmt.Sprintf("%s: the cell holds %s", k.name, v.Screen.One)
		out = append(out, g)
	}
	if more := v.Count - len(v.Rows); more > 0 {
		f.Message = fmt.Sprintf("%s: %d more cells hold %s", k.name, more, v.Screen.Many)
		out = append(out, f)
	}
	return out
}

// sentence says what a whole column is held for.
func (k *screened) sentence(v identifier.Verdict) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s: ", k.name)
	if v.Titled {
		b.WriteString("by its title, ")
	}
	fmt.Fprintf(&b, "%d of %d cells hold %s", v.Count, v.Of, v.Screen.Many)
	if v.Note != "" {
		fmt.Fprintf(&b, " (%s)", v.Note)
	}
	if len(v.Rows) > 0 {
		fmt.Fprintf(&b, ", the first in %s", Origin{Sheet: k.where.Sheet, Row: v.Rows[0]}.Cell())
	}
	return b.String()
}

// unknownSheets warns of sheets that the codebook does not know.
func (s *screening) unknownSheets() {
	for _, o := range s.d.others {
		if o.damage == "" && (o.rows == 0 || ownSheet(o.where.Sheet)) {
			continue
		}
		f := Finding{
			Rule: RuleUnknownSheet, Severity: Warning, Where: o.where, Expected: "a sheet of the codebook",
			Message: fmt.Sprintf("the sheet is not in the codebook; its %d rows are not read, but go on with the workbook and its marked copy", o.rows),
		}
		if o.damage != "" {
			f.Message = "the sheet is not in the codebook and could not be screened for identifiers, because it is damaged"
		}
		s.found = append(s.found, f)
	}
}
