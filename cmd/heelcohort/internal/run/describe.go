package run

import (
	"context"
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/figure"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// describe is an analysis of kind describe.
type describe struct {
	table     string
	by        *cohort.Variable
	variables []cohort.Variable
	tests     *plan.DescribeTests
	apart     bool // standardised differences
	figures   bool // of distributions
}

func bindDescribe(m *cohort.Model, a *plan.Describe) (job, error) {
	d := &describe{}
	var err error
	if d.table, err = tableOf(m, a.Table); err != nil {
		return nil, err
	}
	if len(a.By) > 1 {
		return nil, a.By[1].Errorf(1, 1, "", "a second grouping variable %q, expected at most one", a.By[1].Value)
	}
	for _, name := range a.By {
		v, err := levelled(m, d.table, name)
		if err != nil {
			return nil, err
		}
		d.by = &v
	}
	d.tests, d.apart, d.figures = a.Tests, a.Differences, a.Distributions
	if d.by == nil && a.Tests != nil {
		return nil, m.Plan.Fault(a.Tests.Position, "", "tests between groups, but by names none, expected a grouping variable")
	}
	if d.by == nil && a.Differences {
		return nil, m.Plan.Fault(a.Position, "", "differences between groups, but by names none, expected a grouping variable")
	}
	if d.by == nil && a.Distributions {
		return nil, m.Plan.Fault(a.Position, "", "distributions in groups, but by names none, expected a grouping variable")
	}
	for i, name := range a.Variables {
		v, err := m.Variable(d.table, name)
		if err != nil {
			return nil, err
		}
		if v.Kind != value.Number && v.Levels() == nil {
			return nil, name.Errorf(1, 1, "", "%q is a %v without categories, expected a number, a boolean or a variable with categories", v.Name, v.Kind)
		}
		for _, other := range a.Variables[:i] {
			if other.Value == name.Value {
				return nil, name.Errorf(1, 1, "", "%q stands twice among the variables", name.Value)
			}
		}
		d.variables = append(d.variables, v)
	}
	return d, nil
}

func (d *describe) run(_ context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(d.table)
	b.Unit = d.table
	b.set("quartiles", "Hyndman and Fan type 7", false)
	b.Methods = "Numbers are described by mean, standard deviation (divisor n − 1), median and quartiles, categories by counts and percentages of the rows with a value; missing values are counted by their code."
	b.cite("Hyndman 1996")
	d.compareSettings(b)
	if d.figures {
		b.set(figure.DistributionSetting, "true", true)
	}
	groups := [][]result.Group{nil}
	members := [][]int{everyRow(t.Len())}
	if d.by != nil {
		b.name(*d.by)
		column := t.Column(d.by.Name)
		lacking := 0
		rows := map[string][]int{}
		for i := range t.Len() {
			if level, ok := levelText(column, i); ok {
				rows[level] = append(rows[level], i)
			} else {
				lacking++
			}
		}
		for _, level := range d.by.Levels() {
			groups = append(groups, []result.Group{group(d.by.Name, level)})
			members = append(members, rows[level])
		}
		b.removed("rows", fmt.Sprintf("%s missing: in the column for all only", d.by.Label), float64(lacking))
	}
	for g := range groups {
		r := b.row("size", "count", groups[g]...)
		b.add(number(r, float64(len(members[g])), ""))
	}
	for _, v := range d.variables {
		b.name(v)
		column := t.Column(v.Name)
		for g := range groups {
			if v.Levels() == nil {
				b.describeNumber(v, column, members[g], groups[g])
			} else {
				b.describeLevels(v, column, members[g], groups[g])
			}
		}
		if d.by != nil {
			d.compare(b, v, column, members[1:])
		}
		codes := missingCodes(v, column)
		for g := range groups {
			for _, code := range codes {
				r := b.row("missing", "count", groups[g]...)
				r.Variable, r.Term = v.Name, code
				n := 0
				for _, i := range members[g] {
					if x := column.Value(i); x.Missing && x.Code == code {
						n++
					}
				}
				b.add(number(r, float64(n), ""))
			}
		}
	}
	return nil
}

func (b *builder) describeNumber(v cohort.Variable, column *dataset.Column, rows []int, groups []result.Group) {
	var values []float64
	for _, i := range rows {
		if x := column.Value(i); !x.Missing {
			values = append(values, x.Number)
		}
	}
	s := stats.Describe(values)
	for _, m := range []struct {
		measure string
		value   float64
	}{
		{"mean", s.Mean},
		{"standard deviation", s.SD},
		{"minimum", s.Min},
		{"lower quartile", s.LowerQuartile},
		{"median", s.Median},
		{"upper quartile", s.UpperQuartile},
		{"maximum", s.Max},
	} {
		r := b.row("values", m.measure, groups...)
		r.Variable, r.N, r.Unit = v.Name, result.Number(s.N), v.Unit
		reason := "no row has a value"
		if s.N > 0 {
			reason = "only one row has a value"
		}
		b.add(number(r, m.value, reason))
	}
}

func (b *builder) describeLevels(v cohort.Variable, column *dataset.Column, rows []int, groups []result.Group) {
	count := map[string]int{}
	n := 0
	for _, i := range rows {
		if level, ok := levelText(column, i); ok {
			count[level]++
			n++
		}
	}
	for _, level := range v.Levels() {
		r := b.row("values", "count", groups...)
		r.Variable, r.Term, r.N = v.Name, level, result.Number(n)
		b.add(number(r, float64(count[level]), ""))
		r = b.row("values", "percent", groups...)
		r.Variable, r.Term, r.N, r.Events = v.Name, level, result.Number(n), result.Number(count[level])
		share := math.NaN()
		if n > 0 {
			share = 100 * float64(count[level]) / float64(n)
		}
		b.add(number(r, share, "no row has a value"))
	}
}

// missingCodes lists the codes that occur in a column.
func missingCodes(v cohort.Variable, column *dataset.Column) []string {
	occurs := map[string]int{}
	for i := range column.Len() {
		if x := column.Value(i); x.Missing {
			occurs[x.Code]++
		}
	}
	return orderedCodes(v.Codes, occurs)
}

// orderedCodes lists the codes that occur: those of the codebook in its order,
// then the others by name.
func orderedCodes(known []codebook.MissingValue, occurs map[string]int) []string {
	var codes, others []string
	listed := map[string]bool{}
	for _, c := range known {
		if occurs[c.Value] > 0 && !listed[c.Value] {
			codes = append(codes, c.Value)
			listed[c.Value] = true
		}
	}
	for code, n := range occurs {
		if n > 0 && !listed[code] {
			others = append(others, code)
		}
	}
	slices.Sort(others)
	return append(codes, others...)
}
