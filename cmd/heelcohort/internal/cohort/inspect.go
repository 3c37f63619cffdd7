package cohort

import (
	"fmt"

	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// Inspect checks the cells that the plan's instruments read, other than those
// that were faults before: a value that an instrument does not allow is an
// error, one that it doubts a warning. Derived variables stand in no cell;
// where theirs are not legal, Build counts them. The error is that of more
// findings than anyone could work with.
func (m *Model) Inspect(d *dataset.Dataset) ([]dataset.Finding, error) {
	var found []dataset.Finding
	type cell struct {
		table, variable string
		row             int
	}
	seen := map[cell]bool{}
	for i := range m.derived {
		s := m.derived[i].scoring
		if s == nil {
			continue
		}
		t := d.Table(s.table)
		for _, o := range s.operands {
			c := t.Column(o.Name)
			if c == nil || c.Field == nil || c.Kind != value.Number {
				continue
			}
			for _, f := range inspect(t, c, o, s.head.Name.Value) {
				at := cell{t.Name, c.Name, f.Where.Row}
				if !seen[at] {
					seen[at] = true
					found = append(found, f)
				}
			}
			if err := dataset.BoundFindings(found); err != nil {
				return nil, err
			}
		}
	}
	return found, nil
}

// inspect checks the cells of one column for one instrument.
func inspect(t *dataset.Table, c *dataset.Column, o operand, name string) []dataset.Finding {
	if o.legal == nil && o.doubt == nil && o.doubts == nil {
		return nil
	}
	var found []dataset.Finding
	of := "" // what is doubted of all values stands at the first
	if o.doubts != nil {
		of = o.doubts(present(c))
	}
	for row, state := range c.State {
		if state != dataset.Present {
			continue
		}
		x, doubted := c.Number[row], of
		of = ""
		if doubted == "" && o.doubt != nil {
			doubted = o.doubt(x)
		}
		f := dataset.Finding{
			Rule: dataset.RuleInstrument, Table: t.Name, Variable: c.Name, Where: t.Origin(row, c), Fields: []string{c.Name},
		}
		switch {
		case o.legal != nil && !o.legal.Has(x):
			f.Expected = o.legal.String()
			f.Message = fmt.Sprintf("The instrument %s expects %v.", name, o.legal)
		case doubted != "":
			f.Severity, f.Expected, f.Message = dataset.Warning, o.wanted, doubted
		default:
			continue
		}
		f.Found = c.Source(row)
		found = append(found, f)
	}
	return found
}
