package run

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
)

// bindTogether finds the variables that tell the rows of one unit.
func (s *timeToEvent) bindTogether(m *cohort.Model) error {
	p := s.plan.Together
	if p == nil {
		return nil
	}
	for _, name := range p.By {
		v, err := m.Variable(s.table, name)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(s.together, func(w cohort.Variable) bool { return w.Name == v.Name }) {
			return name.Errorf(1, 1, "", "%q stands twice", v.Name)
		}
		s.together = append(s.together, v)
	}
	for _, c := range []struct {
		wrong bool
		what  string
	}{
		{s.plan.Interval != nil, "interval"},
		{s.plan.Weights != nil, "weights"},
		{s.plan.Model != nil && s.plan.Model.Later != nil, "later terms"},
		{s.plan.Model != nil && s.plan.Model.Offset != nil, "an offset"},
	} {
		if c.wrong {
			return m.Plan.Fault(p.Position, "", c.what+" beside together: rows of one unit may differ in them, expected one of them")
		}
	}
	return nil
}

// unite makes one row of the rows of each unit. The clock starts with the
// earliest of them, and the unit is observed from when all of them are; the
// variables are those of the earliest, and a unit whose rows do not agree in what the analysis reads is
// left out. The unit is followed row by row in the order of their last days:
// the first one that ends otherwise than by the event ends the unit so; if none
// does before, it has the event with the first row, or with the last.
func (s *timeToEvent) unite(c *cohort.Cohort, b *builder, o *observed) *observed {
	if s.together == nil {
		return o
	}
	t := c.Data.Table(s.table)
	text := func(vars []cohort.Variable, row int) string {
		var parts []string
		for _, v := range vars {
			if x := t.Column(v.Name).Value(row); x.Missing {
				parts = append(parts, "missing "+x.Code)
			} else {
				parts = append(parts, "value "+x.String())
			}
		}
		return strings.Join(parts, "\x00")
	}
	var order []string
	units := map[string][]int{}
	unknown := 0
	for i, row := range o.row {
		if slices.ContainsFunc(s.together, func(v cohort.Variable) bool { return t.Column(v.Name).Value(row).Missing }) {
			unknown++
			continue
		}
		key := text(s.together, row)
		if units[key] == nil {
			order = append(order, key)
		}
		units[key] = append(units[key], i)
	}
	read := s.readVariables()
	united := &observed{}
	several, differ, never := 0, 0, 0
	for _, key := range order {
		rows := units[key]
		agree := !slices.ContainsFunc(rows, func(i int) bool { return text(read, o.row[i]) != text(read, o.row[rows[0]]) })
		if !agree {
			differ += len(rows)
			continue
		}
		if len(rows) > 1 {
			several++
		}
		if !s.uniteRows(o, rows, united) {
			never++
		}
	}
	b.removed("rows", "of which unit is not known", float64(unknown))
	b.removed("rows", "of units whose rows differ in a variable of the analysis", float64(differ))
	b.removed("rows", "joined with another of their unit", float64(len(o.row)-unknown-differ-never-len(united.row)))
	b.removed("units", "ended no later than observation began", float64(never))
	names := make([]string, len(s.together))
	for i, v := range s.together {
		names[i] = v.Name
	}
	b.Unit = "units of " + strings.Join(names, ", ")
	b.set("rows of one unit share", strings.Join(names, ", "), true)
	b.set("event of a unit", s.plan.Together.Event, true)
	how := "with the first of its rows"
	if s.plan.Together.Event == "last" {
		how = "once all of its rows have it"
	}
	b.Methods += fmt.Sprintf(" Rows with the same %s are one unit (%d units, %d of them of several rows), which has the event %s; another end of any row before then ends it.",
		strings.Join(names, " and "), len(united.row), several, how)
	return united
}

// uniteRows adds the unit that rows of o make, unless it ended before it was
// observed.
func (s *timeToEvent) uniteRows(o *observed, rows []int, united *observed) bool {
	first := rows[0]
	for _, i := range rows {
		if o.start[i] < o.start[first] {
			first = i
		}
	}
	// Rows end in the order of their days; on one day the event comes last, so
	// that another end is not overlooked.
	ended := slices.Clone(rows)
	day := func(i int) float64 { return o.start[i] + o.Exit[i] }
	slices.SortStableFunc(ended, func(i, j int) int {
		if c := cmp.Compare(day(i), day(j)); c != 0 {
			return c
		}
		switch {
		case !o.Status[i] && o.Status[j]:
			return -1
		case o.Status[i] && !o.Status[j]:
			return 1
		}
		return 0
	})
	last := ended[len(ended)-1]
	for _, i := range ended {
		if !o.Status[i] || s.plan.Together.Event == "first" {
			last = i
			break
		}
	}
	exit, entry := day(last)-o.start[first], 0.0
	if o.Entry != nil {
		for _, i := range rows {
			if o.Entry[i] > 0 {
				entry = math.Max(entry, o.start[i]+o.Entry[i]-o.start[first])
			}
		}
		if entry >= exit {
			return false
		}
	}
	united.take(o, first)
	n := len(united.row) - 1
	united.Exit[n], united.Status[n], united.cause[n] = exit, o.Status[last], o.cause[last]
	if o.Entry != nil {
		united.Entry[n] = entry
	}
	return true
}

// readVariables are the variables of the rows that the analysis reads.
func (s *timeToEvent) readVariables() []cohort.Variable {
	var list []cohort.Variable
	if s.by != nil {
		list = append(list, s.by.variable)
	}
	for _, t := range s.model {
		list = append(list, t.variable)
	}
	for _, v := range []*cohort.Variable{s.cluster, s.modelStrata} {
		if v != nil {
			list = append(list, *v)
		}
	}
	if s.comparing != nil && s.comparing.strata != nil {
		list = append(list, *s.comparing.strata)
	}
	return list
}
