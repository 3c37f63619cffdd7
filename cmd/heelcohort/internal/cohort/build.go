package cohort

import (
	"context"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// A Cohort is the data of a study with derived variables, restricted to the
// population.
type Cohort struct {
	Model *Model
	Data  *dataset.Dataset
	Flow  []result.FlowStep

	Instruments []result.Instrument // what the instruments gave, in the order of the plan

	aside map[string]*dataset.Table // rows set aside for a faulty key, by table
}

// Aside is how many rows of a table were set aside for a faulty key, other than
// copies of a row that stayed.
func (c *Cohort) Aside(table string) int {
	if t := c.aside[table]; t != nil {
		return t.Len()
	}
	return 0
}

// Build makes the cohort. findings are those of the data; where the plan takes
// faulty cells for missing, what they concern is set missing or set aside.
func (m *Model) Build(ctx context.Context, d *dataset.Dataset, findings []dataset.Finding) (*Cohort, error) {
	c := &Cohort{Model: m, Data: copyData(d), aside: map[string]*dataset.Table{}}
	f := newFlow(c.Data, m.Participants)
	if m.Plan.SetMissing() {
		if err := c.setMissing(findings, f); err != nil {
			return nil, err
		}
	}
	for i := range m.derived {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := c.derive(&m.derived[i]); err != nil {
			return nil, err
		}
	}
	for _, s := range m.steps {
		values, err := c.Values(s.keep)
		if err != nil {
			return nil, err
		}
		keep := make([]bool, len(values))
		removed, missing := 0, 0
		for i, v := range values {
			switch {
			case v.Missing:
				missing++
			case !v.Bool:
				removed++
			default:
				keep[i] = true
			}
		}
		if err := c.keep(s.table, keep, f); err != nil {
			return nil, err
		}
		f.add(s.table, s.otherwise, removed, missing, c.Data.Table(s.table).Len())
	}
	c.Flow = f.steps(c.Data)
	return c, nil
}

func copyData(d *dataset.Dataset) *dataset.Dataset {
	n := *d
	n.Tables = append([]*dataset.Table(nil), d.Tables...)
	return &n
}

func (c *Cohort) replace(t *dataset.Table) {
	for i, old := range c.Data.Tables {
		if old.Name == t.Name {
			c.Data.Tables[i] = t
		}
	}
}

// Values computes a formula on every row of its table.
func (c *Cohort) Values(f *Formula) ([]value.Value, error) {
	t := c.Data.Table(f.Table)
	reader, err := c.Data.Reader(t, f.variables)
	if err != nil {
		return nil, err
	}
	values := make([]value.Value, t.Len())
	for i := range values {
		values[i] = f.Eval(reader.At(i))
	}
	return values, nil
}

// derive makes one derived variable.
func (c *Cohort) derive(d *derivation) error {
	values, err := c.derivedValues(d)
	if err != nil {
		return err
	}
	v := d.variable
	column := dataset.NewColumn(v.Name, v.Label, v.Unit, v.Kind, v.Words, values)
	column.Labels, column.Ordered = v.Labels, v.Ordered
	t, err := c.Data.Table(v.Table).With(column)
	if err != nil {
		return err
	}
	c.replace(t)
	return nil
}

func (c *Cohort) derivedValues(d *derivation) ([]value.Value, error) {
	if d.value != nil {
		return c.Values(d.value)
	}
	if d.scoring != nil {
		return c.scores(d.scoring)
	}
	child := c.Data.Table(d.child)
	parents, err := c.Data.Parents(child, d.variable.Table)
	if err != nil {
		return nil, err
	}
	var when, of []value.Value
	if d.when != nil {
		if when, err = c.Values(d.when); err != nil {
			return nil, err
		}
	}
	if d.of != nil {
		if of, err = c.Values(d.of); err != nil {
			return nil, err
		}
	}
	gathered := make([]gather, c.Data.Table(d.variable.Table).Len())
	for i, parent := range parents {
		if parent < 0 {
			continue
		}
		condition, amount := value.Truth(true), value.Num(1)
		if when != nil {
			condition = when[i]
		}
		if of != nil {
			amount = of[i]
		}
		gathered[parent].add(condition, amount)
	}
	if lost := c.aside[d.child]; lost != nil {
		// What such a row says of the row it links to is not known.
		if parents, err = c.Data.Parents(lost, d.variable.Table); err != nil {
			return nil, err
		}
		for _, parent := range parents {
			if parent >= 0 {
				gathered[parent].add(value.None(value.Bool, value.CodeFault), value.Num(1))
			}
		}
	}
	values := make([]value.Value, len(gathered))
	for i := range gathered {
		values[i] = gathered[i].value(d.how)
	}
	return values, nil
}
