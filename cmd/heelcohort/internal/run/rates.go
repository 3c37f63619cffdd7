package run

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// A cell holds events, person-time and the children who have any of it, of the
// pieces and events that have the given levels; -1 is any.
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
	var time stats.Sum
	for _, e := range p.events {
		if matches(e.at) {
			c.events += e.n
		}
	}
	last, clock, present := -1, 0, false
	var days []stats.Interval
	flush := func() {
		for _, iv := range stats.Union(days) {
			time.Add(iv.Total())
		}
		days = days[:0]
	}
	leave := func() {
		if present {
			c.children++
		}
		present = false
	}
	for _, q := range p.pieces { // a child's pieces stand together
		if !matches(q.at) {
			continue
		}
		if q.child != last || q.clock != clock {
			flush()
			clock = q.clock
		}
		if q.child != last {
			leave()
			last = q.child
		}
		present = present || q.amount > 0
		if p.calendar {
			days = append(days, stats.Interval{From: q.from, To: q.to, Amount: nan})
		} else {
			time.Add(q.amount)
		}
	}
	flush()
	leave()
	c.time = time.Total()
	return c
}

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
		e, err := stats.Rate(c.events, c.time, s.rateOptions(b))
		b.add(b.estimate(r, e, err))
	}
	if s.several(p) {
		b.warn("A child can have person-time in several groups, which its rows of the table count each; limits of ratios between them take the groups as independent.")
	}
}

// rateOptions are those of rates and standardised incidence ratios.
func (s *incidence) rateOptions(b *builder) stats.RateOptions {
	return stats.RateOptions{Level: b.level, Per: s.per, Method: choose(rateLimits, s.choices.limits.Rate).method}
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

const ratioLimits = "limits of rate ratios"

// ratios adds the rate ratios, and differences where they are asked for, of
// each grouping with a reference: over all, and within each level of the other
// grouping.
func (s *incidence) ratios(b *builder, p *persontime) {
	for g, reference := range s.references {
		if reference < 0 {
			continue
		}
		if !slices.ContainsFunc(b.Settings, func(c result.Setting) bool { return c.Key == ratioLimits }) {
			limits := choose(rateRatioLimits, s.choices.limits.Ratio)
			b.set(ratioLimits, limits.setting, s.choices.limits.Ratio != "")
			b.Methods += " Crude rate ratios have " + limits.sentence + "."
			b.cite(limits.cite...)
			if s.choices.differences {
				limits := choose(rateDifferenceLimits, s.choices.limits.Difference)
				b.set("limits of rate differences", limits.setting, s.choices.limits.Difference != "")
				b.Methods += " Rate differences have " + limits.sentence + "."
				b.cite(limits.cite...)
			}
		}
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
	compare := func(part, measure string, estimate func(one cell) (stats.Estimate, error)) {
		for l, level := range levels {
			if l == reference {
				continue
			}
			compared := slices.Clone(at)
			compared[g] = l
			one := p.sum(compared)
			r := b.row(part, measure, groups...)
			r.Variable, r.Term = v.Name, level+" vs "+levels[reference]
			r.Events = result.Number(one.events + zero.events)
			if part == "differences" {
				r.Unit = s.perUnit()
			}
			e, err := estimate(one)
			b.add(b.estimate(r, e, err))
		}
	}
	compare("ratios", "rate ratio", func(one cell) (stats.Estimate, error) {
		return stats.RateRatio(one.events, one.time, zero.events, zero.time,
			stats.RateRatioOptions{Level: b.level, Method: choose(rateRatioLimits, s.choices.limits.Ratio).method})
	})
	if s.choices.differences {
		compare("differences", "rate difference", func(one cell) (stats.Estimate, error) {
			return stats.RateDifference(one.events, one.time, zero.events, zero.time,
				stats.RateDifferenceOptions{Level: b.level, Per: s.per, Method: choose(rateDifferenceLimits, s.choices.limits.Difference).method})
		})
	}
}
