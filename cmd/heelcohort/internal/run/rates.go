package run

import (
	"errors"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// A cell holds events, person-time and children of the pieces and events that
// have the given levels; -1 is any.
type cell struct {
	events   int
	time     float64
	children int
}

// sum adds up a cell. Days are counted once however many of a child's intervals
// cover them; amounts of several intervals add up.
func (p *persontime) sum(at []int) cell {
	matches := func(levels []int) bool {
		for g, want := range at {
			if want >= 0 && levels[g] != want {
				return false
			}
		}
		return true
	}
	var c cell
	var time accurate
	for _, e := range p.events {
		if matches(e.at) {
			c.events += e.n
		}
	}
	last := -1
	var days []stats.Interval
	flush := func() {
		for _, iv := range stats.Union(days) {
			time.add(iv.Total())
		}
		days = days[:0]
	}
	for _, q := range p.pieces { // a child's pieces stand together
		if !matches(q.at) {
			continue
		}
		if q.child != last {
			flush()
			last = q.child
			c.children++
		}
		if p.calendar {
			days = append(days, stats.Interval{From: q.from, To: q.to, Amount: nan})
		} else {
			time.add(q.amount)
		}
	}
	flush()
	c.time = time.total()
	return c
}

// An accurate sum carries the digits that plain addition loses (Neumaier A.
// Z Angew Math Mech 1974;54:39-51), so that 0.1 hours add up to whole ones.
type accurate struct{ sum, rest float64 }

func (a *accurate) add(x float64) {
	t := a.sum + x
	if math.Abs(a.sum) >= math.Abs(x) {
		a.rest += (a.sum - t) + x
	} else {
		a.rest += (x - t) + a.sum
	}
	a.sum = t
}

func (a *accurate) total() float64 { return a.sum + a.rest }

// margins lists the cells of the table: all, each level of each grouping, every
// pair.
func (s *incidence) margins() [][]int {
	all := make([]int, len(s.by))
	for g := range all {
		all[g] = -1
	}
	list := [][]int{all}
	for g, by := range s.by {
		for l := range by.variable.Levels() {
			at := slices.Clone(all)
			at[g] = l
			list = append(list, at)
		}
	}
	if len(s.by) == 2 {
		for x := range s.by[0].variable.Levels() {
			for y := range s.by[1].variable.Levels() {
				list = append(list, []int{x, y})
			}
		}
	}
	return list
}

// groups names a cell.
func (s *incidence) groups(at []int) []result.Group {
	var groups []result.Group
	for g, l := range at {
		if l >= 0 {
			groups = append(groups, group(s.by[g].variable.Name, s.by[g].variable.Levels()[l]))
		}
	}
	return groups
}

// rates adds the rates of all cells.
func (s *incidence) rates(b *builder, p *persontime) {
	for _, at := range s.margins() {
		c := p.sum(at)
		r := b.row("rates", "incidence rate", s.groups(at)...)
		r.Events, r.PersonTime, r.N, r.Unit = result.Number(c.events), result.Number(c.time), result.Number(c.children), s.perUnit()
		e, err := stats.Rate(c.events, c.time, stats.RateOptions{Level: b.level, Per: s.per})
		b.add(b.estimate(r, e, err))
	}
	if s.several(p) {
		b.warn("A child can have person-time in several groups, which its rows of the table count each; limits of ratios between them take the groups as independent.")
	}
}

// several reports whether a child has person-time at more than one level of a
// grouping other than current age.
func (s *incidence) several(p *persontime) bool {
	for g, by := range s.by {
		if by.current || s.count != nil {
			continue
		}
		level := map[int]int{}
		for _, q := range p.pieces {
			if l, there := level[q.child]; there && l != q.at[g] {
				return true
			}
			level[q.child] = q.at[g]
		}
	}
	return false
}

// ratios adds the rate ratios of each grouping with a reference: over all, and
// within each level of the other grouping.
func (s *incidence) ratios(b *builder, p *persontime) {
	for g, reference := range s.references {
		if reference < 0 {
			continue
		}
		b.set("limits of rate ratios", "exact conditional", false)
		b.cite("Przyborowski 1940")
		held := [][]int{{}}
		if len(s.by) == 2 {
			for l := range s.by[1-g].variable.Levels() {
				held = append(held, []int{l})
			}
		}
		for _, h := range held {
			at := make([]int, len(s.by))
			for i := range at {
				at[i] = -1
			}
			if len(h) == 1 {
				at[1-g] = h[0]
			}
			s.ratiosWithin(b, p, g, reference, at)
		}
	}
}

func (s *incidence) ratiosWithin(b *builder, p *persontime, g, reference int, at []int) {
	v := s.by[g].variable
	levels := v.Levels()
	groups := s.groups(at)
	base := slices.Clone(at)
	base[g] = reference
	zero := p.sum(base)
	for l, level := range levels {
		if l == reference {
			continue
		}
		compared := slices.Clone(at)
		compared[g] = l
		one := p.sum(compared)
		r := b.row("ratios", "rate ratio", groups...)
		r.Variable, r.Term = v.Name, level+" vs "+levels[reference]
		r.Events = result.Number(one.events + zero.events)
		e, err := stats.RateRatio(one.events, one.time, zero.events, zero.time, stats.LimitOptions{Level: b.level})
		b.add(b.estimate(r, e, err))
	}
}

// fit adds the log-linear model. Its rows are those of a table of counts, the
// cells of by, or with clusters the cells of each child.
func (s *incidence) fit(c *cohort.Cohort, b *builder, p *persontime) {
	m := s.model
	b.setTerms(m.terms)
	dispersion := "none"
	if m.dispersion {
		dispersion = "pearson"
	}
	b.set("dispersion", dispersion, s.plan.Model.Dispersion != "")
	b.Methods += " Adjusted rate ratios come from Poisson regression with the logarithm of person-time as offset and Wald limits"
	b.cite("McCullagh 1989")
	switch {
	case m.dispersion:
		b.Methods += " from errors scaled by Pearson's chi-square over its degrees of freedom"
	case m.cluster:
		b.Methods += " from errors robust to dependence within clusters"
		b.cite("Liang 1986")
		b.set("cluster", s.plan.Model.Cluster.Value, true)
	}
	b.Methods += "."
	events, time, values, ids, err := s.observations(c, p)
	if err != nil {
		b.fit("model", "rate ratio", nil, stats.Fit{}, err)
		return
	}
	usable := slices.Repeat([]bool{true}, len(events))
	d, err := newDesign(m.terms, values, usable)
	if err != nil {
		b.fit("model", "rate ratio", nil, stats.Fit{}, err)
		return
	}
	opts := stats.GLMOptions{Level: b.level, Dispersion: m.dispersion}
	var y, t []float64
	for _, i := range d.rows {
		y, t = append(y, events[i]), append(t, time[i])
		if m.cluster {
			opts.Cluster = append(opts.Cluster, ids[i])
		}
	}
	f, err := stats.FitPoisson(d.x, d.names(), y, t, opts)
	b.fit("model", "rate ratio", d, f, err)
	if err != nil || m.cluster {
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

// observations are the rows of the model.
func (s *incidence) observations(c *cohort.Cohort, p *persontime) (events, time []float64, values [][]value.Value, ids []int, err error) {
	values = make([][]value.Value, len(s.model.terms))
	if s.count != nil {
		t := c.Data.Table(s.atRisk)
		all := tableValues(t, s.model.terms)
		var clustersOf []int
		if s.model.cluster {
			clustersOf, _ = clusters(t.Column(s.model.variable), t.Len())
		}
		for i, q := range p.pieces {
			events, time = append(events, float64(p.events[i].n)), append(time, q.amount)
			for k := range values {
				values[k] = append(values[k], all[k][q.row])
			}
			if clustersOf != nil {
				ids = append(ids, clustersOf[q.row])
			}
		}
		return events, time, values, ids, nil
	}
	if p.calendar && s.several(p) {
		return nil, nil, nil, nil, errCalendar
	}
	type key struct {
		child int
		at    [2]int
	}
	index := map[key]int{}
	var keys []key
	place := func(child int, at []int) int {
		k := key{at: [2]int{}}
		copy(k.at[:], at)
		if s.model.cluster {
			k.child = child
		}
		i, there := index[k]
		if !there {
			i = len(keys)
			index[k] = i
			keys = append(keys, k)
			events, time = append(events, 0), append(time, 0)
		}
		return i
	}
	for _, q := range p.pieces {
		if q.amount > 0 {
			time[place(q.child, q.at)] += q.amount
		}
	}
	for _, e := range p.events {
		i := place(e.child, e.at)
		if time[i] == 0 {
			return nil, nil, nil, nil, stats.ErrNoPersonTime
		}
		events[i] += float64(e.n)
	}
	for _, k := range keys {
		ids = append(ids, k.child)
		for m, t := range s.model.terms {
			g := slices.IndexFunc(s.by, func(g grouping) bool { return g.variable.Name == t.variable.Name })
			word := t.variable.Levels()[k.at[g]]
			v := value.Str(word)
			if t.variable.Kind == value.Bool {
				v = value.Truth(word == "true")
			}
			values[m] = append(values[m], v)
		}
	}
	return events, time, values, ids, nil
}
