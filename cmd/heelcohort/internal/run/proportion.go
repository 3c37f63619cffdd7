package run

import (
	"context"
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// proportion is an analysis of kind proportion.
type proportion struct {
	plan         *plan.Proportion
	participants string
	table        string
	among        *cohort.Formula
	conditions   []condition
	by           []cohort.Variable
	references   []int // among the levels of by; -1: none
	limits       plan.RiskLimits
}

// A condition is what is counted.
type condition struct {
	variable cohort.Variable
	when     *cohort.Formula
	text     string // as the plan has it
}

// A headcount is of the rows of one group by one condition.
type headcount struct {
	with, without int
	missing       map[string]int // by code
}

func (s *proportion) run(ctx context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(s.table)
	b.Unit = s.table
	if s.plan.Unit != "" {
		b.Unit = s.plan.Unit
	}
	if n := c.Aside(s.table); n > 0 {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys and are not counted.", n, s.table))
	}
	rows, err := s.counted(c, b, t)
	if err != nil {
		return err
	}
	compared := slices.ContainsFunc(s.references, func(r int) bool { return r >= 0 })
	risk, ratio, difference := b.proportionLimits(s.limits, compared)
	b.Methods = fmt.Sprintf("Proportions are shares of the %s for which the condition is known, with %s; missing values are counted by their code.", b.Unit, risk.sentence)
	b.cite(risk.cite...)
	if compared {
		b.Methods += fmt.Sprintf(" Risk differences have %s, risk ratios %s.", difference.sentence, ratio.sentence)
		b.cite(slices.Concat(difference.cite, ratio.cite)...)
	}
	if err := s.warnOfSiblings(c, b, rows); err != nil {
		return err
	}
	for i, v := range s.by {
		b.name(v)
		if s.references[i] >= 0 {
			b.set("reference."+v.Name, v.Levels()[s.references[i]], true)
		}
		lacking := 0
		column := t.Column(v.Name)
		for _, r := range rows {
			if column.Value(r).Missing {
				lacking++
			}
		}
		b.removed("rows", fmt.Sprintf("%s missing: not in its groups", v.Label), float64(lacking))
	}
	for _, one := range s.conditions {
		if err := ctx.Err(); err != nil {
			return err
		}
		b.name(one.variable)
		b.set("condition."+one.variable.Name, one.text, true)
		values, err := c.Values(one.when)
		if err != nil {
			return err
		}
		s.shares(b, t, one, values, rows, risk.method)
		if compared {
			s.compare(b, t, one, values, rows, ratio.method, difference.method)
		}
	}
	return nil
}

// proportionLimits notes the methods that are used.
func (b *builder) proportionLimits(l plan.RiskLimits, compared bool) (risk chosen[stats.ProportionMethod], ratio, difference chosen[twoRisks]) {
	if compared {
		return b.riskLimits(l)
	}
	risk = choose(proportionLimits, l.Proportion)
	b.set("limits of risks", risk.setting, l.Proportion != "")
	return risk, ratio, difference
}

// counted lists the rows for which among holds.
func (s *proportion) counted(c *cohort.Cohort, b *builder, t *dataset.Table) ([]int, error) {
	if s.among == nil {
		b.set("among", "every row", false)
		return everyRow(t.Len()), nil
	}
	b.set("among", s.plan.Among.Value, true)
	values, err := c.Values(s.among)
	if err != nil {
		return nil, err
	}
	var rows []int
	not, undecided := 0, 0
	for i, v := range values {
		switch {
		case v.Missing:
			undecided++
		case v.Bool:
			rows = append(rows, i)
		default:
			not++
		}
	}
	b.removed("rows", "not among those counted", float64(not))
	b.removed("rows", "not decided whether among those counted", float64(undecided))
	return rows, nil
}

// warnOfSiblings warns where several counted rows are of one child.
func (s *proportion) warnOfSiblings(c *cohort.Cohort, b *builder, rows []int) error {
	if s.table == s.participants || !slices.Contains(c.Model.Package.Scope(c.Model.Package.Resource(s.table)).Tables(), s.participants) {
		return nil
	}
	owner, err := c.Data.Parents(c.Data.Table(s.table), s.participants)
	if err != nil {
		return err
	}
	seen := map[int]bool{}
	for _, r := range rows {
		if owner[r] < 0 {
			continue
		}
		if seen[owner[r]] {
			b.warn(fmt.Sprintf("Several %s are of one child, and the limits take them as independent: they are too narrow where those of a child are alike.", b.Unit))
			return nil
		}
		seen[owner[r]] = true
	}
	return nil
}

// headcounts counts the rows over all and by the levels of a variable.
func headcounts(values []value.Value, rows []int, level func(row int) (string, bool)) map[string]*headcount {
	counts := map[string]*headcount{}
	for _, r := range rows {
		name, known := level(r)
		if !known {
			continue
		}
		one := counts[name]
		if one == nil {
			one = &headcount{missing: map[string]int{}}
			counts[name] = one
		}
		switch v := values[r]; {
		case v.Missing:
			one.missing[v.Code]++
		case v.Bool:
			one.with++
		default:
			one.without++
		}
	}
	return counts
}

// groupsOf lists the groups of the table with their counts: over all, then the
// levels of each variable of by.
func (s *proportion) groupsOf(t *dataset.Table, values []value.Value, rows []int) (groups [][]result.Group, counts []*headcount) {
	add := func(g []result.Group, one *headcount) {
		if one == nil {
			one = &headcount{missing: map[string]int{}}
		}
		groups, counts = append(groups, g), append(counts, one)
	}
	add(nil, headcounts(values, rows, func(int) (string, bool) { return "", true })[""])
	for _, v := range s.by {
		column := t.Column(v.Name)
		byLevel := headcounts(values, rows, func(r int) (string, bool) { return levelText(column, r) })
		for _, level := range v.Levels() {
			add([]result.Group{group(v.Name, level)}, byLevel[level])
		}
	}
	return groups, counts
}

// shares adds the proportions of a condition and its missing values by code.
func (s *proportion) shares(b *builder, t *dataset.Table, one condition, values []value.Value, rows []int, method stats.ProportionMethod) {
	groups, counts := s.groupsOf(t, values, rows)
	for i, c := range counts {
		r := b.row("proportions", "proportion", groups[i]...)
		r.Variable, r.N, r.Events = one.variable.Name, result.Number(c.with+c.without), result.Number(c.with)
		if c.with+c.without == 0 {
			r.Reason = "the condition is known of no row"
			b.add(r)
			continue
		}
		e, err := stats.Proportion(c.with, c.with+c.without, stats.ProportionOptions{Level: b.level, Method: method})
		b.add(b.estimate(r, e, err))
	}
	for _, code := range orderedCodes(one.variable.Codes, counts[0].missing) {
		for i, c := range counts {
			r := b.row("missing", "count", groups[i]...)
			r.Variable, r.Term = one.variable.Name, code
			b.add(number(r, float64(c.missing[code]), ""))
		}
	}
}

// compare adds the differences and ratios of the levels of each variable with a
// reference.
func (s *proportion) compare(b *builder, t *dataset.Table, one condition, values []value.Value, rows []int, ratio, difference twoRisks) {
	for i, v := range s.by {
		reference := s.references[i]
		if reference < 0 {
			continue
		}
		column := t.Column(v.Name)
		counts := headcounts(values, rows, func(r int) (string, bool) { return levelText(column, r) })
		levels := v.Levels()
		of := func(l int) headcount {
			if c := counts[levels[l]]; c != nil {
				return *c
			}
			return headcount{}
		}
		zero := of(reference)
		for _, m := range []struct {
			measure string
			compute twoRisks
		}{{"risk difference", difference}, {"risk ratio", ratio}} {
			for l, level := range levels {
				if l == reference {
					continue
				}
				c := of(l)
				r := b.row("comparisons", m.measure, group(v.Name, level))
				r.Variable, r.Term = one.variable.Name, "vs "+levels[reference]
				r.N, r.Events = result.Number(c.with+c.without+zero.with+zero.without), result.Number(c.with+zero.with)
				e, err := m.compute(c.with, c.without, zero.with, zero.without, stats.LimitOptions{Level: b.level})
				b.add(b.estimate(r, e, err))
			}
		}
	}
}
