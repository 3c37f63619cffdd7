package run

import (
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/stats"
)

// persontime holds events and person-time by the levels of by. A piece or an
// event carries its level of each grouping as an index.
type persontime struct {
	calendar bool // person-time is days, which overlapping intervals share
	pieces   []piece
	events   []event
	account  *account // nil for tables of counts
}

// A piece is person-time of one child within one cell.
type piece struct {
	child  int
	clock  int // of the child: a heel where each is at risk by itself
	at     []int
	from   float64
	to     float64
	amount float64
	row    int // of the table
}

// An event is a number of events of one child in one cell.
type event struct {
	child int
	at    []int
	n     int
	day   float64
	end   float64 // of its episode, NaN where there is none
	heel  int     // -1: missing
	row   int
}

// levels gives each row's levels as indexes, nil where one is missing. Current
// age is filled in later and is -1 here.
func (s *incidence) levels(c *cohort.Cohort, side func(grouping) *cohort.Formula, n int) ([][]int, error) {
	levels := make([][]int, n)
	for i := range levels {
		levels[i] = make([]int, len(s.by))
	}
	for g, by := range s.by {
		f := side(by)
		if f == nil {
			for i := range levels {
				if levels[i] != nil {
					levels[i][g] = -1
				}
			}
			continue
		}
		values, err := c.Values(f)
		if err != nil {
			return nil, err
		}
		for i, v := range values {
			if levels[i] == nil {
				continue
			}
			text, ok := valueLevel(v)
			if !ok {
				levels[i] = nil
				continue
			}
			if levels[i][g] = slices.Index(by.variable.Levels(), text); levels[i][g] < 0 {
				return nil, fmt.Errorf("run: %q has the unknown level %q", by.variable.Name, text)
			}
		}
	}
	return levels, nil
}

// children gives each row's child as an index of the participants, -1 where it
// has none.
func (s *incidence) children(c *cohort.Cohort, table string) ([]int, error) {
	t := c.Data.Table(table)
	if table == s.participants {
		return everyRow(t.Len()), nil
	}
	return c.Data.Parents(t, s.participants)
}

// counts reads a table of counts: each row has its events and person-time.
func (s *incidence) counts(c *cohort.Cohort, b *builder) (*persontime, error) {
	t := c.Data.Table(s.atRisk)
	count, err := c.Values(s.count)
	if err != nil {
		return nil, err
	}
	amount, err := c.Values(s.amount)
	if err != nil {
		return nil, err
	}
	levels, err := s.levels(c, func(g grouping) *cohort.Formula { return g.atRisk }, t.Len())
	if err != nil {
		return nil, err
	}
	p := &persontime{}
	missing, ungrouped, empty, lost, odd, ungroupedEvents := 0, 0, 0, 0, 0, 0
	var ungroupedTime stats.Sum
	for i := range t.Len() {
		switch {
		case count[i].Missing || amount[i].Missing:
			missing++
		case !wholeCount(count[i].Number) || amount[i].Number < 0:
			odd++
		case levels[i] == nil:
			ungrouped++
			ungroupedEvents += int(count[i].Number)
			ungroupedTime.Add(amount[i].Number)
		case amount[i].Number == 0:
			empty++
			lost += int(count[i].Number)
		default:
			p.pieces = append(p.pieces, piece{child: i, at: levels[i], amount: amount[i].Number, row: i})
			p.events = append(p.events, event{child: i, at: levels[i], n: int(count[i].Number), row: i})
		}
	}
	b.removed("rows", "events or person-time missing", float64(missing))
	b.removed("rows", "a grouping variable missing", float64(ungrouped))
	b.removed("rows", "events or person-time impossible", float64(odd))
	b.removed("rows", "no person-time", float64(empty))
	b.removed("events", "in rows without person-time", float64(lost))
	b.removed("events", "in rows with a grouping variable missing", float64(ungroupedEvents))
	b.removed(s.timeUnit(), "of rows with a grouping variable missing", ungroupedTime.Total())
	return p, nil
}

// wholeCount reports whether x can be a number of events.
func wholeCount(x float64) bool { return x >= 0 && x <= 1<<31 && x == math.Trunc(x) }

// timeOf is the person-time of one child's pieces: the sum of their amounts, or
// where calendar the days that at least one of them covers.
func timeOf(pieces []piece, calendar bool) float64 {
	intervals := make([]stats.Interval, len(pieces))
	for i, q := range pieces {
		intervals[i] = q.interval()
	}
	if calendar {
		intervals = stats.Union(intervals)
	}
	var sum stats.Sum
	for _, iv := range intervals {
		sum.Add(iv.Total())
	}
	return sum.Total()
}
