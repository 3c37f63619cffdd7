package run

import (
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/value"
)

// A laterTerm is a term of the model that is no until a day and yes after it.
type laterTerm struct {
	variable   cohort.Variable
	day, never *cohort.Formula
}

// beforeStart is the entry of a row that is observed from its start on: an event
// at 0 is after it.
const beforeStart = -1.0

// bindLater adds the later terms after those of the table.
func (s *timeToEvent) bindLater(m *cohort.Model, p *plan.HazardModel, names []string) error {
	for _, l := range p.Later {
		if slices.Contains(names, l.Name.Value) {
			return l.Name.Errorf(1, 1, "", "%q is in the model already", l.Name.Value)
		}
		if _, err := m.Variable(s.table, l.Name); err == nil {
			return l.Name.Errorf(1, 1, "", "%q is a variable of the table, expected a name of its own", l.Name.Value)
		}
		names = append(names, l.Name.Value)
		t := laterTerm{variable: cohort.Variable{Table: s.table, Name: l.Name.Value, Label: l.Label, Kind: value.Bool}}
		if t.variable.Label == "" {
			t.variable.Label = t.variable.Name
		}
		var err error
		if t.day, err = m.Expression(s.table, l.Day, value.Number); err != nil {
			return err
		}
		if l.Never != nil {
			if t.never, err = m.Expression(s.table, *l.Never, value.Bool); err != nil {
				return err
			}
		}
		s.later = append(s.later, t)
		s.model = append(s.model, term{variable: t.variable})
	}
	return nil
}

// split cuts the rows at the days on which their later terms begin. It gives the
// pieces, the row of o that each comes from and the values of the later terms
// in each, missing where the day is not known. A term that begins on a day holds
// after it: a row that has the event on that very day had it without.
func (s *timeToEvent) split(c *cohort.Cohort, b *builder, o *observed) (pieces *observed, of []int, values [][]value.Value, err error) {
	if s.later == nil {
		return o, everyRow(len(o.row)), nil, nil
	}
	begins := make([][]float64, len(s.later)) // on the clock, by term and row; NaN: not known
	for k, l := range s.later {
		days, err := c.Values(l.day)
		if err != nil {
			return nil, nil, nil, err
		}
		var never []value.Value
		if l.never != nil {
			if never, err = c.Values(l.never); err != nil {
				return nil, nil, nil, err
			}
		}
		unknown := 0
		for i, row := range o.row {
			at := nan
			switch {
			case never != nil && never[row].Missing:
			case never != nil && never[row].Bool:
				at = math.Inf(1)
			case !days[row].Missing:
				at = days[row].Number - o.start[i]
			}
			if math.IsNaN(at) {
				unknown++
			}
			begins[k] = append(begins[k], at)
		}
		b.removed("rows", "the beginning of "+l.variable.Label+" missing: not in the model", float64(unknown))
	}
	pieces, values = &observed{}, make([][]value.Value, len(s.later))
	pieces.Entry = []float64{}
	for i := range o.row {
		from, to := beforeStart, o.Exit[i]
		if o.Entry != nil {
			from = o.Entry[i]
		}
		cuts := []float64{}
		for k := range s.later {
			if at := begins[k][i]; at >= 0 && at > from && at < to {
				cuts = append(cuts, at)
			}
		}
		slices.Sort(cuts)
		cuts = append(slices.Compact(cuts), to)
		for j, end := range cuts {
			pieces.take(o, i)
			n := len(pieces.row) - 1
			if o.Entry == nil {
				pieces.Entry = append(pieces.Entry, from)
			}
			pieces.Entry[n], pieces.Exit[n] = from, end
			if j < len(cuts)-1 {
				pieces.Status[n], pieces.cause[n] = false, 0
			}
			of = append(of, i)
			for k := range s.later {
				v := value.Truth(begins[k][i] < 0 || begins[k][i] <= from)
				if math.IsNaN(begins[k][i]) {
					v = value.None(value.Bool, "")
				}
				values[k] = append(values[k], v)
			}
			from = end
		}
	}
	return pieces, of, values, nil
}
