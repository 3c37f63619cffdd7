package run

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// A changeModel is the fitted model of the visits after the baseline.
type changeModel struct {
	design *design
	fit    stats.GEEFit
	err    error
	mean   []float64 // of each column over the subjects
	base   float64   // the subjects' mean value at baseline
	group  cohort.Variable
	visit  cohort.Variable
	first  string // the visit that the others are held against
	n      int    // rows
}

// Measures of the model.
const (
	differenceMeasure = "difference of change"
	adjustedMeasure   = "adjusted mean change"
	crossedTest       = "test of group by visit"
	groupsTest        = "test of groups at all visits"
)

// model adds the comparison of the groups by a marginal linear model.
func (s *change) model(b *builder, t *dataset.Table, f *followed) {
	m := s.fit(b, t, f)
	size := b.row("model size", "clusters")
	size.N = result.Number(m.n)
	if m.err != nil {
		size.Reason = m.err.Error()
		b.add(size)
		s.differences(b, m)
		return
	}
	for _, w := range m.fit.Warnings {
		size.Warnings = append(size.Warnings, w.Text)
	}
	b.add(number(size, float64(m.fit.Clusters), ""))
	first := len(m.fit.Coefficients) - len(m.design.columns)
	for i := range m.fit.Coefficients {
		r := b.row("model", "coefficient")
		r.Term = m.fit.Terms[i]
		if i >= first {
			r.Variable, r.Term = m.design.columns[i-first].variable, m.design.columns[i-first].level
		}
		b.add(b.estimate(r, m.fit.Coefficient(i, b.level), nil))
	}
	for _, level := range m.design.dropped {
		b.warn(fmt.Sprintf("Model: no row has the level %s, which the model therefore leaves out.", level))
	}
	r := b.row("model", "working correlation")
	r.N, r.Method = result.Number(m.n), string(m.fit.Working)
	b.add(number(r, m.fit.Correlation, "not estimated"))
	crossed := m.design.coefficients(m.fit.Fit, interaction(m.group, m.visit))
	if len(crossed) > 0 {
		b.test("model", crossedTest, m.fit.JointTest("", crossed), m.n, nil)
	}
	own := m.design.coefficients(m.fit.Fit, m.group.Name)
	b.test("model", groupsTest, m.fit.JointTest("", slices.Concat(own, crossed)), m.n, nil)
	s.differences(b, m)
}

// fit lays out one row a subject and visit after the baseline that has a value,
// and fits the model.
func (s *change) fit(b *builder, t *dataset.Table, f *followed) *changeModel {
	m := &changeModel{group: s.by.variable, visit: s.visit}
	m.visit.Words, m.visit.Labels = s.visit.Words[1:], s.visit.LevelLabels()[1:]
	base := cohort.Variable{Table: s.table, Name: baselineName, Label: s.value.Label + " at the baseline", Unit: s.value.Unit, Kind: value.Number}
	terms := append([]term{*s.by, {variable: m.visit}, {variable: base}}, s.adjust...)
	columns := make([][]value.Value, len(terms))
	var y []float64
	var cluster []int
	var of []*subject
	seen := make([]bool, len(m.visit.Words))
	usable := []bool{}
	for _, one := range f.subjects {
		start, ok := f.number(one, 0)
		if !ok {
			continue
		}
		group := value.Str(s.by.variable.Levels()[one.group])
		for v := range m.visit.Words {
			x, ok := f.number(one, v+1)
			if !ok {
				continue
			}
			columns[0] = append(columns[0], group)
			columns[1] = append(columns[1], value.Str(m.visit.Words[v]))
			columns[2] = append(columns[2], value.Num(start))
			whole := true
			for k, a := range s.adjust {
				z := t.Column(a.variable.Name).Value(one.origin)
				columns[3+k] = append(columns[3+k], z)
				whole = whole && !z.Missing
			}
			seen[v] = seen[v] || whole
			y, cluster, of, usable = append(y, x), append(cluster, one.cluster), append(of, one), append(usable, true)
		}
	}
	b.name(base)
	terms[1].reference = max(0, slices.Index(seen, true))
	m.first = m.visit.Words[terms[1].reference]
	d, err := newDesign(terms, columns, usable)
	if err != nil {
		m.err = err
		return m
	}
	b.removed("visits", "a variable of the model missing at the baseline: not in the model", float64(len(y)-len(d.rows)))
	if m.err = d.interact(terms, []int{1}); m.err != nil {
		return m
	}
	m.design, m.n = d, len(d.rows)
	m.mean = make([]float64, len(d.columns))
	var own []float64
	var ids []int
	counted := map[*subject]bool{}
	for r, i := range d.rows {
		own, ids = append(own, y[i]), append(ids, cluster[i])
		if counted[of[i]] {
			continue
		}
		counted[of[i]] = true
		start, _ := f.number(of[i], 0)
		m.base += start
		for j, x := range d.x[r] {
			m.mean[j] += x
		}
	}
	for j := range m.mean {
		m.mean[j] /= float64(len(counted))
	}
	m.base /= float64(len(counted))
	if m.err = s.cells(b, m, d, ids); m.err != nil {
		return m
	}
	working := s.working
	if sorted := slices.Compact(slices.Sorted(slices.Values(ids))); len(sorted) == len(ids) {
		working = stats.Independence
		if s.working != working {
			b.warn("No cluster has two values in the model: its working correlation is independence.")
		}
	}
	m.fit, m.err = stats.FitGEE(d.x, d.names(), own, nil, stats.GEEOptions{
		Family: stats.GEEGaussian, Correlation: working, Cluster: ids, Level: b.level, BiasReduced: s.reduced, StudentT: s.student,
	})
	return m
}

// fewInCell is the number of clusters of a group at a visit below which the
// robust errors of what is made from it are doubted.
const fewInCell = 10

// cells refuses a model with a group that rests on fewer than two clusters at a
// visit: the value there would be fitted exactly, and the robust errors of all
// that is made from it would be too small by as much as there is. It warns of
// cells of few clusters.
func (s *change) cells(b *builder, m *changeModel, d *design, cluster []int) error {
	seen := map[[2]string]map[int]bool{}
	groups, visits := map[string]bool{}, map[string]bool{}
	group := d.columnsOf(m.group.Name)
	visit := d.columnsOf(m.visit.Name)
	level := func(columns []int, row []float64, reference string) string {
		for _, j := range columns {
			if row[j] == 1 {
				return d.columns[j].level
			}
		}
		return reference
	}
	for r, row := range d.x {
		at := [2]string{level(group, row, m.group.Levels()[s.by.reference]), level(visit, row, m.first)}
		if seen[at] == nil {
			seen[at] = map[int]bool{}
		}
		seen[at][cluster[r]], groups[at[0]], visits[at[1]] = true, true, true
	}
	var few []string
	for v, word := range m.visit.Words {
		for g, name := range m.group.Levels() {
			if !groups[name] || !visits[word] {
				continue
			}
			n, cell := len(seen[[2]string{name, word}]), m.group.LevelLabels()[g]+" at "+m.visit.Labels[v]
			if n < 2 {
				return fmt.Errorf("marginal linear model: %w: %s has values of %d, expected at least 2 of every group at every visit; leave the visit or the group out", stats.ErrTooFewClusters, cell, n)
			}
			if n < fewInCell {
				few = append(few, fmt.Sprintf("%s: %d", cell, n))
			}
		}
	}
	if few != nil && !(s.reduced && s.student) {
		b.warn(fmt.Sprintf("Groups of fewer than %d clusters at a visit (%s): the errors of their differences tend to be too small, and P with them; bias-reduced errors and limits by clusters are for few.", fewInCell, strings.Join(few, ", ")))
	}
	return nil
}

// contrast is the combination of coefficients that holds a group against the
// reference at a visit; ok is false where the model has no such cell.
func (m *changeModel) contrast(group, visit string) (c []float64, ok bool) {
	c = make([]float64, len(m.fit.Coefficients))
	first := len(c) - len(m.design.columns)
	for j, column := range m.design.columns {
		switch column {
		case coefficient{m.group.Name, group}:
			c[first+j], ok = 1, true
		case coefficient{interaction(m.group, m.visit), group + " × " + visit}:
			c[first+j] = 1
		}
	}
	return c, ok && m.atVisit(visit)
}

// atVisit reports whether the model has the visit.
func (m *changeModel) atVisit(visit string) bool {
	return m.first == visit || slices.Contains(m.design.columns, coefficient{m.visit.Name, visit})
}

// differences adds, for each visit, the mean change of each group by the model,
// at the mean of all else, and the difference of each from the reference.
func (s *change) differences(b *builder, m *changeModel) {
	levels, reference := s.by.variable.Levels(), s.by.reference
	for _, visit := range m.visit.Words {
		for l, level := range levels {
			r := b.row("adjusted", adjustedMeasure, group(s.by.variable.Name, level), group(s.visit.Name, visit))
			r.Variable, r.Unit = s.value.Name, s.value.Unit
			c, ok := m.cell(level, visit, l == reference)
			if !ok {
				r.Reason = m.reason()
				b.add(r)
				continue
			}
			e := m.fit.Combination("", c, b.level)
			e.Value, e.Lower, e.Upper, e.P = e.Value-m.base, e.Lower-m.base, e.Upper-m.base, math.NaN()
			b.add(b.estimate(r, e, nil))
		}
		for l, level := range levels {
			if l == reference {
				continue
			}
			r := b.row("differences", differenceMeasure, group(s.by.variable.Name, level), group(s.visit.Name, visit))
			r.Variable, r.Term, r.Unit = s.value.Name, "vs "+levels[reference], s.value.Unit
			if m.err == nil {
				if c, ok := m.contrast(level, visit); ok {
					r.N = result.Number(m.n)
					b.add(b.estimate(r, m.fit.Combination("", c, b.level), nil))
					continue
				}
			}
			r.Reason = m.reason()
			b.add(r)
		}
	}
}

// reason says why a cell has no estimate.
func (m *changeModel) reason() string {
	if m.err != nil {
		return m.err.Error()
	}
	return "no row of the model is in this cell"
}

// cell is the combination that is the mean of a group at a visit, all other
// columns at their mean over the subjects.
func (m *changeModel) cell(group, visit string, reference bool) (c []float64, ok bool) {
	if m.err != nil || !m.atVisit(visit) {
		return nil, false
	}
	c = make([]float64, len(m.fit.Coefficients))
	if !reference {
		if c, ok = m.contrast(group, visit); !ok {
			return nil, false
		}
	}
	first := len(c) - len(m.design.columns)
	c[0] = 1
	for j, column := range m.design.columns {
		switch column.variable {
		case m.group.Name, interaction(m.group, m.visit):
		case m.visit.Name:
			if column.level == visit {
				c[first+j] = 1
			}
		default:
			c[first+j] = m.mean[j]
		}
	}
	return c, true
}
