package run

import (
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// possibleDay reports whether a study day can be one: within some millions of
// years of day 0, so that days can be counted exactly.
func possibleDay(x float64) bool { return math.Abs(x) <= 1e9 }

// rules are the rules of time at risk.
func (s *incidence) rules() stats.RiskRules {
	r := stats.RiskRules{First: s.first, Heels: len(s.heels.Levels())}
	if s.end != nil {
		r.Spells, r.Gap = true, s.plan.Spells.Gap
	}
	if w := s.plan.Window; w != nil {
		r.Window.From, r.Window.To = math.Inf(-1), math.Inf(1)
		if w.From != nil {
			r.Window.From = *w.From
		}
		if w.To != nil {
			r.Window.To = *w.To
		}
	}
	return r
}

// zeroes hold the participants' age and calendar day on study day 0, nil where
// the plan does not ask for them.
type zeroes struct{ age, calendar []value.Value }

func (s *incidence) zeroes(c *cohort.Cohort) (z zeroes, err error) {
	if s.age != nil {
		if z.age, err = c.Values(s.age); err != nil {
			return z, err
		}
	}
	if s.calendarZero != nil {
		z.calendar, err = c.Values(s.calendarZero)
	}
	return z, err
}

// spells reads when the episodes of the events end, NaN for never, and which
// heel they are of, -1 for unknown.
func (s *incidence) spells(c *cohort.Cohort, n int) (end []float64, heel []int, err error) {
	end, heel = slices.Repeat([]float64{nan}, n), make([]int, n)
	if s.end != nil {
		values, err := c.Values(s.end)
		if err != nil {
			return nil, nil, err
		}
		for i, v := range values {
			if !v.Missing {
				end[i] = v.Number
			}
		}
	}
	if s.heel != nil {
		values, err := c.Values(s.heel)
		if err != nil {
			return nil, nil, err
		}
		for i, v := range values {
			heel[i] = -1
			if text, ok := valueLevel(v); ok {
				heel[i] = slices.Index(s.heels.Levels(), text)
			}
		}
	}
	return end, heel, nil
}

// place puts one child's person-time and events into their cells, and what does
// not enter into the account.
func (s *incidence) place(index int, one *child, zero zeroes, p *persontime, a *account) {
	rules := s.rules()
	c := stats.Child{}
	grouped := false
	for _, q := range one.rows {
		c.Observed = append(c.Observed, stats.Observed{Interval: q.interval(), Group: s.code(q.at)})
		grouped = grouped || q.at != nil
	}
	for _, e := range one.events {
		c.Episodes = append(c.Episodes, stats.Episode{Onset: e.day, End: e.end, Group: s.code(e.at), Heel: e.heel})
	}
	if grouped {
		lack := &a.ageless
		missing := zero.age != nil && zero.age[index].Missing
		if !missing && zero.calendar != nil && zero.calendar[index].Missing {
			missing, lack = true, &a.calendarless
		}
		if missing {
			lack.children++
			lack.events += len(one.events)
			t := stats.AtRisk(stats.Child{Observed: c.Observed}, stats.RiskRules{Heels: rules.Heels, Window: rules.Window})
			a.addTime(t)
			lack.time.Add(t.AtRisk)
			return
		}
	}
	if zero.age != nil && !zero.age[index].Missing {
		for _, bound := range s.bands {
			c.Ages = append(c.Ages, stats.AgeDay(bound, zero.age[index].Number))
		}
	}
	if s.calendar != nil {
		from := 0.0
		if zero.calendar != nil && !zero.calendar[index].Missing {
			from = zero.calendar[index].Number
		}
		for _, day := range s.starts {
			c.Calendar = append(c.Calendar, day-from)
		}
	}
	t := stats.AtRisk(c, rules)
	a.addTime(t)
	a.at.Add(t.AtRisk)
	a.addOnsets(c, t)
	for _, q := range t.Pieces {
		p.pieces = append(p.pieces, piece{
			child: index, clock: q.Heel, at: s.cell(q.Group, q.Age, q.Calendar), from: q.From, to: q.To, amount: q.Amount,
		})
	}
	for i, o := range t.Onsets {
		if o.Reason == stats.NoObservation || o.Reason == stats.OutsideObservation && !one.before(one.events[i].day) {
			a.doubt(doubted{outsideEvent, one.events[i].row, 0})
		}
		if o.Reason == stats.Counted {
			e := one.events[i]
			e.at = s.cell(c.Episodes[i].Group, o.Age, o.Calendar)
			p.events = append(p.events, e)
		}
	}
}

// interval is the piece as an interval.
func (q piece) interval() stats.Interval {
	return stats.Interval{From: q.from, To: q.to, Amount: q.amount}
}

// code is the levels of a row as one number, -1 where one is missing. Bands of
// the child's own time have none.
func (s *incidence) code(at []int) int {
	if at == nil {
		return -1
	}
	code := 0
	for g, by := range s.by {
		if !by.current {
			code = code*len(by.variable.Levels()) + at[g]
		}
	}
	return code
}

// cell is the levels of a code, with the bands of age and calendar.
func (s *incidence) cell(code, age, season int) []int {
	at := make([]int, len(s.by))
	for g, by := range slices.Backward(s.by) {
		switch {
		case by.calendar:
			at[g] = season
		case by.current:
			at[g] = age
		default:
			n := len(by.variable.Levels())
			at[g] = code % n
			code /= n
		}
	}
	return at
}
