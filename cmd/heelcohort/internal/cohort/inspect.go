package cohort

import (
	"fmt"

	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// Inspect checks the cells that the plan's instruments read, other than those
// that were faults before: a value that an instrument does not allow is an
// error, one that it doubts a warning. Derived variables stand in no cell;
// where theirs are not legal, Build counts them.
func (m *Model) Inspect(d *dataset.Dataset) []dataset.Finding {
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
			first := true
			for row, state := range c.State {
				if state != dataset.Present {
					continue
				}
				f := dataset.Finding{
					Rule: dataset.RuleInstrument, Table: t.Name, Variable: c.Name, Where: t.Origin(row, c),
					Found: c.Source(row), Fields: []string{c.Name},
				}
				doubted := ""
				if o.doubt != nil {
					doubted = o.doubt(c.Number[row])
				}
				if first && o.doubts != nil {
					if text := o.doubts(present(c)); text != "" {
						doubted = text
					}
				}
				first = false
				switch {
				case o.legal != nil && !o.legal.Has(c.Number[row]):
					f.Expected = o.legal.String()
					f.Message = fmt.Sprintf("The instrument %s expects %v.", s.head.Name.Value, o.legal)
				case doubted != "":
					f.Severity, f.Expected, f.Message = dataset.Warning, o.wanted, doubted
				default:
					continue
				}
				at := cell{t.Name, c.Name, row}
				if !seen[at] {
					seen[at] = true
					found = append(found, f)
				}
			}
		}
	}
	return found
}
