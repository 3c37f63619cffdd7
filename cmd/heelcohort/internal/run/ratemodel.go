package run

import (
	"errors"
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// fit adds the log-linear model. Its rows are those of a table of counts, the
// cells of by, or with clusters the cells of each child.
func (s *incidence) fit(c *cohort.Cohort, b *builder, p *persontime) {
	m := s.model
	b.setTerms(m.terms)
	s.familySettings(b)
	o, err := s.observations(c, p)
	var d *design
	if err == nil {
		d, err = newDesign(m.terms, o.values, o.usable)
	}
	if err != nil {
		b.fit("model", "rate ratio", nil, stats.Fit{}, err)
		m.shapes(b, nil, stats.Fit{}, err)
		s.marginals(b, nil, stats.Fit{}, nil, err)
		s.smooth(b, nil, stats.Fit{}, nil, err)
		return
	}
	if m.byChild && !m.cluster && s.count == nil && slices.ContainsFunc(o.cluster, repeated()) {
		b.warn("Cells of one child enter the model as independent rows; cluster makes errors robust to their dependence.")
	}
	b.removed("rows", "incomplete: not in the model", float64(len(o.events)-len(d.rows)))
	opts := stats.GLMOptions{Level: b.level, Dispersion: m.dispersion}
	var y, t []float64
	for _, i := range d.rows {
		y, t = append(y, o.events[i]), append(t, o.time[i])
		if m.cluster {
			opts.Cluster = append(opts.Cluster, o.cluster[i])
		}
	}
	m.shapeSettings(b, s.plan.Model.CutAge != nil)
	f, err := m.fitFamily(d, y, t, opts)
	b.fit("model", "rate ratio", d, f, err)
	if m.test {
		m.overdispersion(b, d, y, t)
	}
	defer func() {
		m.shapes(b, d, f, err)
		s.marginals(b, d, f, t, err)
		s.smooth(b, d, f, t, err)
	}()
	if err != nil {
		return
	}
	if m.family == negativeFamily {
		r := b.row("model", "overdispersion")
		r.N = result.Number(f.N)
		b.add(number(r, f.Overdispersion, "not defined"))
	}
	if m.cluster {
		return
	}
	for _, x := range []struct {
		measure string
		value   float64
	}{{"dispersion", f.Dispersion}, {"deviance", f.Deviance}} {
		r := b.row("model", x.measure)
		r.DF, r.N = result.Number(f.DF), result.Number(f.N)
		if x.measure == "dispersion" && !m.dispersion {
			continue
		}
		b.add(number(r, x.value, "not defined"))
	}
}

var errCalendar = errors.New("days of a child are shared by overlapping intervals of several groups: a model of them is not offered")

// A rateTable holds the rows of the model.
type rateTable struct {
	events, time []float64
	values       [][]value.Value // by term
	cluster      []int
	usable       []bool // the cluster is known
}

// observations are the rows of the model.
func (s *incidence) observations(c *cohort.Cohort, p *persontime) (*rateTable, error) {
	o := &rateTable{values: make([][]value.Value, len(s.model.terms))}
	if s.count != nil {
		s.countRows(o, c, p)
		return o, nil
	}
	if p.calendar && s.several(p) {
		return nil, errCalendar
	}
	var err error
	if s.model.fine != nil {
		if p, err = s.cutAges(c, p); err != nil {
			return nil, err
		}
	}
	if s.model.cycle != nil {
		if p, err = s.cutSeasons(c, p); err != nil {
			return nil, err
		}
	}
	return o, s.cellRows(o, p)
}

// countRows are the rows of a table of counts.
func (s *incidence) countRows(o *rateTable, c *cohort.Cohort, p *persontime) {
	t := c.Data.Table(s.atRisk)
	all := tableValues(t, s.model.terms)
	ids, known := make([]int, t.Len()), slices.Repeat([]bool{true}, t.Len())
	if s.model.cluster {
		ids, known = clusters(t.Column(s.model.variable), t.Len())
	}
	for i, q := range p.pieces {
		o.events, o.time = append(o.events, float64(p.events[i].n)), append(o.time, q.amount)
		o.cluster, o.usable = append(o.cluster, ids[q.row]), append(o.usable, known[q.row])
		for k := range o.values {
			o.values[k] = append(o.values[k], all[k][q.row])
		}
	}
}

// cellRows are the cells of by, or of each child with clusters or a family that
// asks for them. Days of a
// child count once in a cell, as they do in the rates.
func (s *incidence) cellRows(o *rateTable, p *persontime) error {
	type key struct {
		child int
		at    [4]int // the levels of by, and the pieces of age and season
	}
	index := map[key]int{}
	var keys []key
	place := func(child int, at []int) int {
		k := key{}
		copy(k.at[:], at)
		if s.model.byChild {
			k.child = child
		}
		i, there := index[k]
		if !there {
			i = len(keys)
			index[k] = i
			keys = append(keys, k)
			o.events, o.time = append(o.events, 0), append(o.time, 0)
		}
		return i
	}
	for _, own := range sameCell(p.pieces) {
		if time := timeOf(own, p.calendar); time > 0 {
			o.time[place(own[0].child, own[0].at)] += time
		}
	}
	for _, e := range p.events {
		i := place(e.child, e.at)
		if o.time[i] == 0 {
			return fmt.Errorf("an event in a cell of the model without time at risk: %w", stats.ErrNoPersonTime)
		}
		o.events[i] += float64(e.n)
	}
	for _, k := range keys {
		o.cluster, o.usable = append(o.cluster, k.child), append(o.usable, true)
		for m, t := range s.model.terms {
			if t.fine {
				o.values[m] = append(o.values[m], value.Num(s.model.fine.middle(k.at[len(s.by)])))
				continue
			}
			if t.cycle {
				o.values[m] = append(o.values[m], s.model.cycle.value(k.at[s.seasonIndex()]))
				continue
			}
			g := slices.IndexFunc(s.by, func(g grouping) bool { return g.variable.Name == t.variable.Name })
			word := t.variable.Levels()[k.at[g]]
			v := value.Str(word)
			if t.variable.Kind == value.Bool {
				v = value.Truth(word == "true")
			}
			o.values[m] = append(o.values[m], v)
		}
	}
	return nil
}

// sameCell gathers the pieces of each child, clock and cell, in order of appearance. A
// child's pieces stand together.
func sameCell(pieces []piece) [][]piece {
	var out [][]piece
	first := 0 // of the child's cells
	for _, q := range pieces {
		if len(out) > 0 && out[len(out)-1][0].child != q.child {
			first = len(out)
		}
		at := slices.IndexFunc(out[first:], func(own []piece) bool { return own[0].clock == q.clock && slices.Equal(own[0].at, q.at) })
		if at < 0 {
			out = append(out, []piece{q})
			continue
		}
		out[first+at] = append(out[first+at], q)
	}
	return out
}

// repeated tells, call by call, whether a number has come before.
func repeated() func(int) bool {
	seen := map[int]bool{}
	return func(n int) bool {
		was := seen[n]
		seen[n] = true
		return was
	}
}
