package demo

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"

	"heelcohort/dataset"
)

// A Fault is one planted fault: the place and rule of the one finding that it
// makes.
type Fault struct {
	Sheet, Cell, Rule string
	Planted, Was      string
}

// A planter puts faults into the sheets of a registry, at most one in a row.
type planter struct {
	reg      *Registry
	sheets   []dataset.WorkbookSheet
	faults   []Fault
	used     map[string]bool // rows with a fault, or that a fault needs as they are
	children map[string]bool // children with a fault in any sheet
	raw      []rawCell
	next     int
}

// A rawCell is a cell that only the sheet's XML can express.
type rawCell struct {
	sheet int // from 1
	cell  string
	xml   string
}

// sheet finds a sheet by name; index counts from 0.
func (p *planter) sheet(name string) (s *dataset.WorkbookSheet, index int) {
	for i := range p.sheets {
		if p.sheets[i].Name == name {
			return &p.sheets[i], i
		}
	}
	panic("demo: no sheet " + name)
}

// at is the position of a column in a sheet, from 0.
func (p *planter) at(s *dataset.WorkbookSheet, column string) int {
	for i, c := range s.Rows[0] {
		if c.Text == column {
			return i
		}
	}
	panic("demo: no column " + column + " in " + s.Name)
}

// pick finds a row (from 0, without the header) that suits and has no fault
// yet, so that no two faults meet. Later faults start further down.
func (p *planter) pick(sheet string, suits func(i int) bool) int {
	s, _ := p.sheet(sheet)
	n := len(s.Rows) - 1
	p.next++
	for k := range n {
		i := (p.next*17 + k) % n
		if p.free(sheet, i) && suits(i) {
			p.use(sheet, i)
			return i
		}
	}
	panic("demo: no row of " + sheet + " suits the fault")
}

// free says whether a row has no fault and is needed by none.
func (p *planter) free(sheet string, row int) bool { return !p.used[sheet+strconv.Itoa(row)] }

// use keeps further faults from a row.
func (p *planter) use(sheet string, row int) {
	p.used[sheet+strconv.Itoa(row)] = true
	s, _ := p.sheet(sheet)
	p.children[s.Rows[row+1][p.at(s, "participant_id")].Text] = true
}

// set changes a cell and notes the fault with the rule that finds it there.
func (p *planter) set(sheet string, row int, column string, cell dataset.WorkbookCell, rule, planted string) {
	p.setFound(sheet, row, column, cell, column, rule, planted)
}

// setFound is set for a fault that is found in another column of the row.
func (p *planter) setFound(sheet string, row int, column string, cell dataset.WorkbookCell, found, rule, planted string) {
	s, _ := p.sheet(sheet)
	at := &s.Rows[row+1][p.at(s, column)]
	was := shown(*at)
	if found != column {
		was = column + " " + was
	}
	*at = cell
	p.note(sheet, ref(p.at(s, found), row+2), rule, planted, was)
}

// note lists a fault.
func (p *planter) note(sheet, cell, rule, planted, was string) {
	p.faults = append(p.faults, Fault{Sheet: sheet, Cell: cell, Rule: rule, Planted: planted, Was: was})
}

// setRaw makes a cell of the given XML, whose %s is the cell's reference.
func (p *planter) setRaw(sheet string, row int, column, xml, rule, planted string) {
	s, index := p.sheet(sheet)
	cell := ref(p.at(s, column), row+2)
	p.set(sheet, row, column, text("-"), rule, planted)
	p.raw = append(p.raw, rawCell{sheet: index + 1, cell: cell, xml: fmt.Sprintf(xml, cell)})
}

// shown is a cell as people see it.
func shown(c dataset.WorkbookCell) string {
	if c.IsNumber {
		return strconv.FormatFloat(c.Number, 'g', -1, 64)
	}
	return c.Text
}

// ref names a cell: column from 0, row from 1.
func ref(column, row int) string {
	letters := ""
	for n := column + 1; n > 0; n = (n - 1) / 26 {
		letters = string(rune('A'+(n-1)%26)) + letters
	}
	return letters + strconv.Itoa(row)
}

// list is faults.csv.
func (p *planter) list() ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"number", "sheet", "cell", "rule", "planted", "was"}}
	for i, f := range p.faults {
		rows = append(rows, []string{strconv.Itoa(i + 1), f.Sheet, f.Cell, f.Rule, f.Planted, f.Was})
	}
	err := w.WriteAll(rows)
	return b.Bytes(), err
}

// rawCells replaces cells in the XML of a workbook.
func (p *planter) rawCells(book []byte) ([]byte, error) {
	in, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	left := len(p.raw)
	for _, part := range in.File {
		r, err := part.Open()
		if err != nil {
			return nil, err
		}
		data, err := io.ReadAll(r)
		if err := errors.Join(err, r.Close()); err != nil {
			return nil, err
		}
		for _, c := range p.raw {
			if part.Name != fmt.Sprintf("xl/worksheets/sheet%d.xml", c.sheet) {
				continue
			}
			place := regexp.MustCompile(`<c r="` + c.cell + `"[^>]*>.*?</c>`).FindIndex(data)
			if place == nil {
				continue
			}
			data = bytes.Join([][]byte{data[:place[0]], []byte(c.xml), data[place[1]:]}, nil)
			left--
		}
		w, err := out.CreateHeader(&zip.FileHeader{Name: part.Name, Method: zip.Deflate})
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(data); err != nil {
			return nil, err
		}
	}
	if left != 0 {
		return nil, fmt.Errorf("%d cells of planted faults not found in the workbook", left)
	}
	err = out.Close()
	return b.Bytes(), err
}
