package run

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/cohort"
)

// An episode is one that counts for the burden.
type episode struct {
	child    int
	at       []int // levels of by
	days     float64
	finished bool
}

// episodes are those that have entered the person-time, with the days lost to
// them. What has no number of days is accounted for.
func (s *burden) episodes(c *cohort.Cohort, b *builder, p *persontime) ([]episode, error) {
	lost, err := values(c, s.lost)
	if err != nil {
		return nil, err
	}
	until, err := values(c, s.until)
	if err != nil {
		return nil, err
	}
	finished, err := values(c, s.finished)
	if err != nil {
		return nil, err
	}
	missing, negative, undecided, together := 0, 0, 0, 0
	var list []episode
	var open []event // of one child, from until
	var rows []ill
	flush := func() {
		spells, _ := spellsOf(rows, 0, true)
		for _, x := range spells {
			e := open[x.row]
			list = append(list, episode{e.child, e.at, x.to - x.from, x.over})
			together += x.rows - 1
		}
		open, rows = open[:0], rows[:0]
	}
	last, day := -1, map[float64]bool{}
	sameDay := 0
	for _, e := range p.events { // a child's events stand together
		if e.child != last {
			flush()
			last = e.child
			clear(day)
		}
		done := true
		if finished != nil {
			if finished[e.row].Missing {
				undecided++
			}
			done = !finished[e.row].Missing && finished[e.row].Bool
		}
		switch {
		case lost != nil && lost[e.row].Missing, until != nil && until[e.row].Missing:
			missing++
		case lost != nil && lost[e.row].Number < 0, until != nil && until[e.row].Number < e.day:
			negative++
		case lost != nil:
			list = append(list, episode{e.child, e.at, lost[e.row].Number, done})
			if day[e.day] {
				sameDay++
			}
			day[e.day] = true
		default:
			rows = append(rows, ill{row: len(open), from: e.day, to: until[e.row].Number, over: done})
			open = append(open, e)
		}
	}
	flush()
	b.removed("episodes", "days lost missing", float64(missing))
	b.removed("episodes", "days lost negative", float64(negative))
	b.removed("rows", "of an episode that another row of the child began", float64(together))
	b.removed("ends", "not decided whether finished: taken as unfinished", float64(undecided))
	if missing+negative > 0 {
		b.warn(fmt.Sprintf("%d episodes have no usable number of days lost and are not counted: the burden is too low by them.", missing+negative))
	}
	if sameDay > 0 {
		b.warn(fmt.Sprintf("%d episodes begin on the day of another of the same child; the days of each are counted. Until in place of lost counts a child's days once.", sameDay))
	}
	return list, nil
}

// A childTime is the person-time of one child.
type childTime struct {
	child  int
	amount float64
}

// byChild is the person-time of a cell child by child, in order; children
// without any are left out.
func (p *persontime) byChild(at []int) []childTime {
	var list []childTime
	var own []piece
	flush := func() {
		if len(own) > 0 {
			if t := timeOf(own, p.calendar); t > 0 {
				list = append(list, childTime{own[0].child, t})
			}
		}
		own = own[:0]
	}
	for _, q := range p.pieces {
		if !matches(q.at, at) {
			continue
		}
		if len(own) > 0 && own[0].child != q.child {
			flush()
		}
		own = append(own, q)
	}
	flush()
	return list
}

// matches reports whether levels are those of a cell; -1 is any.
func matches(levels, cell []int) bool {
	for g, want := range cell {
		if want >= 0 && levels[g] != want {
			return false
		}
	}
	return true
}
