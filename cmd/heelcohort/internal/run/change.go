package run

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

func (s *change) run(ctx context.Context, c *cohort.Cohort, b *builder) error {
	b.Unit = s.table
	s.settings(b)
	t := c.Data.Table(s.table)
	if s.named != nil {
		column := t.Column(s.named.Name)
		s.names = func(row int) (string, bool) { return levelText(column, row) }
	}
	f, err := s.read(c, b)
	if err != nil {
		return err
	}
	if err := s.warnOfSiblings(c, b, f); err != nil {
		return err
	}
	s.visits(b, f)
	groups := s.groups()
	for g, of := range groups {
		r := b.row("size", "subjects", of...)
		b.add(number(r, float64(len(s.members(f, g))), ""))
	}
	for g, of := range groups {
		s.means(b, f, g, of)
	}
	s.unevenly(b, f)
	if s.by != nil {
		s.model(b, t, f)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if s.threshold == nil {
		return nil
	}
	s.reached(b, f, groups)
	return s.times(b, f, groups)
}

// groups lists the groups: over all, then the levels of by.
func (s *change) groups() [][]result.Group {
	list := [][]result.Group{nil}
	if s.by != nil {
		for _, level := range s.by.variable.Levels() {
			list = append(list, []result.Group{group(s.by.variable.Name, level)})
		}
	}
	return list
}

// members are the subjects of a group by its place among groups.
func (s *change) members(f *followed, g int) []*subject {
	if g == 0 {
		return f.subjects
	}
	var list []*subject
	for _, one := range f.subjects {
		if one.group == g-1 {
			list = append(list, one)
		}
	}
	return list
}

// at adds the visit to a row's groups.
func (s *change) at(of []result.Group, visit int) []result.Group {
	return append(slices.Clone(of), group(s.visit.Name, s.visit.Words[visit]))
}

// visitOf is the planned visit that a row is.
func (s *change) visitOf(row int, day float64) int {
	if s.names != nil {
		name, ok := s.names(row)
		switch {
		case !ok:
			return visitUnnamed
		case slices.Contains(s.skipped, name):
			return visitSkipped
		}
		return slices.Index(s.visit.Words, name)
	}
	for v, w := range s.windows {
		if w.from <= day && day <= w.to {
			return v
		}
	}
	return visitNone
}

// warnOfSiblings warns where subjects without a cluster are of one child.
func (s *change) warnOfSiblings(c *cohort.Cohort, b *builder, f *followed) error {
	if s.cluster != nil || s.table == s.participants || !slices.Contains(c.Model.Package.Scope(c.Model.Package.Resource(s.table)).Tables(), s.participants) {
		return nil
	}
	owner, err := c.Data.Parents(c.Data.Table(s.table), s.participants)
	if err != nil {
		return err
	}
	seen := map[int]bool{}
	for _, one := range f.subjects {
		child := owner[one.rows[0]]
		if child < 0 {
			continue
		}
		if seen[child] {
			b.warn("Several subjects are of one child, and without cluster they are taken as independent: limits are too narrow where those of a child are alike.")
			return nil
		}
		seen[child] = true
	}
	return nil
}

// visits adds where each visit stands: the median day of those that were taken
// and have a value.
func (s *change) visits(b *builder, f *followed) {
	for v := range s.visit.Words {
		var days []float64
		for _, one := range f.subjects {
			if _, ok := f.number(one, v); ok {
				day := one.start
				if v > 0 {
					day = one.days[one.chosen[v]]
				}
				days = append(days, day)
			}
		}
		r := b.row("visits", "median day", s.at(nil, v)...)
		r.N, r.Unit = result.Number(len(days)), "days"
		b.add(number(r, stats.Describe(days).Median, "no visit has a value"))
	}
}

// means adds, for each visit of a group, its values, what is missing, and the
// change from the baseline.
func (s *change) means(b *builder, f *followed, g int, of []result.Group) {
	members := s.members(f, g)
	for v := range s.visit.Words {
		var numbers, changes []float64
		var clusters, changed []int
		codes, none := map[string]int{}, 0
		for _, one := range members {
			x, ok := f.number(one, v)
			switch base, known := f.number(one, 0); {
			case ok:
				numbers, clusters = append(numbers, x), append(clusters, one.cluster)
				if known && v > 0 {
					changes, changed = append(changes, x-base), append(changed, one.cluster)
				}
			case v == 0 && s.start != nil:
				codes[one.base.Code]++
			case one.chosen[v] < 0:
				none++
			default:
				codes[f.values[one.rows[one.chosen[v]]].Code]++
			}
		}
		where := s.at(of, v)
		s.summary(b, where, "values", numbers, clusters)
		if v > 0 {
			s.summary(b, where, "change", changes, changed)
		}
		for _, code := range orderedCodes(s.value.Codes, codes) {
			r := b.row("missing", "count", where...)
			r.Variable, r.Term = s.value.Name, code
			b.add(number(r, float64(codes[code]), ""))
		}
		r := b.row("missing", "no visit", where...)
		r.Variable = s.value.Name
		b.add(number(r, float64(none), ""))
	}
}

// summary adds the mean with limits and the standard deviation.
func (s *change) summary(b *builder, where []result.Group, part string, numbers []float64, clusters []int) {
	mean, deviation := "mean", "standard deviation"
	if part == "change" {
		mean, deviation = "mean change", "standard deviation of the change"
	}
	r := b.row(part, mean, where...)
	r.Variable, r.N, r.Unit = s.value.Name, result.Number(len(numbers)), s.value.Unit
	e, err := stats.ClusterMean(numbers, clusters, b.level)
	b.add(b.estimate(r, e, err))
	r = b.row(part, deviation, where...)
	r.Variable, r.N, r.Unit = s.value.Name, result.Number(len(numbers)), s.value.Unit
	b.add(number(r, stats.Describe(numbers).SD, "fewer than two values"))
}

// unevenly warns where values after the baseline are missing more often in one
// cell than in another.
func (s *change) unevenly(b *builder, f *followed) {
	type cell struct {
		name  string
		share float64
	}
	var least, most *cell
	for g, of := range s.groups() {
		if g == 0 && s.by != nil {
			continue
		}
		for v := 1; v < len(s.visit.Words); v++ {
			n, lacking := 0, 0
			for _, one := range s.members(f, g) {
				if _, ok := f.number(one, 0); !ok {
					continue
				}
				n++
				if _, ok := f.number(one, v); !ok {
					lacking++
				}
			}
			if n == 0 {
				continue
			}
			one := &cell{strings.TrimSuffix(b.groupName(of), ": "), float64(lacking) / float64(n)}
			if one.name != "" {
				one.name += ", "
			}
			one.name += s.visit.LevelLabels()[v]
			if least == nil || one.share < least.share {
				least = one
			}
			if most == nil || one.share > most.share {
				most = one
			}
		}
	}
	if least != nil && most.share > least.share {
		b.warn(fmt.Sprintf("Of the subjects with a baseline, from %.0f%% (%s) to %.0f%% (%s) have no value at a visit. Means, shares and the marginal model take values as missing completely at random; where they are missing because of pain, of treatment or of what came of it, all of these are biased.",
			100*least.share, least.name, 100*most.share, most.name))
	}
}
