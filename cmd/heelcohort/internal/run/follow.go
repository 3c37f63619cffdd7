package run

import (
	"context"
	"math"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// A child holds one child's intervals and events while they are sorted out.
type child struct {
	rows   []piece // at nil where a grouping variable is missing
	events []event
}

// follow reads intervals at risk and events with days, child by child.
func (s *incidence) follow(ctx context.Context, c *cohort.Cohort, b *builder) (*persontime, error) {
	children := make([]child, c.Data.Table(s.participants).Len())
	p := &persontime{calendar: s.amount == nil}
	a := &account{days: p.calendar}
	if err := s.intervals(c, b, children, a); err != nil {
		return nil, err
	}
	if err := s.occurrences(c, children, a); err != nil {
		return nil, err
	}
	zero, err := s.zeroes(c)
	if err != nil {
		return nil, err
	}
	for i := range children {
		if i%1000 == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		s.place(i, &children[i], zero, p, a)
	}
	s.report(b, a)
	s.denominators(c, b, children, a)
	p.account = a
	return p, nil
}

func (s *incidence) intervals(c *cohort.Cohort, b *builder, children []child, a *account) error {
	t := c.Data.Table(s.atRisk)
	owner, err := s.children(c, s.atRisk)
	if err != nil {
		return err
	}
	var amounts []value.Value
	if s.amount != nil {
		if amounts, err = c.Values(s.amount); err != nil {
			return err
		}
	}
	from, err := c.Values(s.from)
	if err != nil {
		return err
	}
	to, err := c.Values(s.to)
	if err != nil {
		return err
	}
	levels, err := s.levels(c, func(g grouping) *cohort.Formula { return g.atRisk }, t.Len())
	if err != nil {
		return err
	}
	nobody, missing, ungrouped, reversed, negative, impossible := 0, 0, 0, 0, 0, 0
	for i := range t.Len() {
		amount := math.NaN()
		if amounts != nil {
			amount = amounts[i].Number
		}
		q := piece{child: owner[i], at: levels[i], from: from[i].Number, to: to[i].Number, amount: amount, row: i}
		switch {
		case from[i].Missing || to[i].Missing || amounts != nil && amounts[i].Missing:
			missing++
		case q.to < q.from:
			reversed++
			a.doubt(doubted{reversedInterval, i, 0})
		case !possibleDay(q.from) || !possibleDay(q.to):
			impossible++
			a.doubt(doubted{impossibleInterval, i, 0})
		case amount < 0:
			negative++
			a.doubt(doubted{negativeAmount, i, 0})
		case owner[i] < 0:
			nobody++
			lost := stats.AtRisk(stats.Child{Observed: []stats.Observed{{Interval: q.interval()}}}, stats.RiskRules{Heels: len(s.heels.Levels())})
			a.in.Add(lost.In)
			a.nobodyTime.Add(lost.In)
		default:
			if levels[i] == nil {
				ungrouped++
			}
			one := &children[owner[i]]
			one.rows = append(one.rows, q)
		}
	}
	b.removed("intervals", "no row of "+s.participants, float64(nobody))
	b.removed("intervals", "days or amount missing", float64(missing))
	b.removed("intervals", "a grouping variable missing", float64(ungrouped))
	b.removed("intervals", "end before begin", float64(reversed))
	b.removed("intervals", "negative amount", float64(negative))
	b.removed("intervals", "days impossible", float64(impossible))
	return nil
}

func (s *incidence) occurrences(c *cohort.Cohort, children []child, a *account) error {
	t := c.Data.Table(s.events)
	owner, err := s.children(c, s.events)
	if err != nil {
		return err
	}
	var when []value.Value
	if s.when != nil {
		if when, err = c.Values(s.when); err != nil {
			return err
		}
	}
	day, err := c.Values(s.day)
	if err != nil {
		return err
	}
	levels, err := s.levels(c, func(g grouping) *cohort.Formula { return g.events }, t.Len())
	if err != nil {
		return err
	}
	end, heel, err := s.spells(c, t.Len())
	if err != nil {
		return err
	}
	for i := range t.Len() {
		if when != nil && !when[i].Missing && !when[i].Bool {
			continue
		}
		switch {
		case owner[i] < 0:
			a.nobody++
		case when != nil && when[i].Missing:
			a.undecided++
		case day[i].Missing:
			a.undated++
		case !possibleDay(day[i].Number):
			a.impossible++
			a.doubt(doubted{impossibleEvent, i, 0})
		case end[i] < day[i].Number:
			a.reversed++
			a.doubt(doubted{reversedEpisode, i, 0})
		default:
			one := &children[owner[i]]
			one.events = append(one.events, event{child: owner[i], at: levels[i], n: 1, day: day[i].Number, end: end[i], heel: heel[i], row: i})
		}
	}
	return nil
}
