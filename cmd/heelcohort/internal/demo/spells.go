package demo

import (
	"fmt"
	"math"
)

// A spell is one spell of heel pain of a child, on one or both heels.
type spell struct {
	number int
	onset  int
	sport  int
	heels  [2]*heel // right and left; nil is a heel without pain
}

// A heel is the course of one heel in one spell.
type heel struct {
	returns int // true day of match return, whether or not it was seen
	end     int // day on which the follow-up of the episode ends
	endType string
	earlier int // spells of this heel before
}

// resumes is the day from which the child plays in full again.
func (s *spell) resumes() int {
	day := s.onset
	for _, h := range s.heels {
		if h != nil {
			day = max(day, h.end)
		}
	}
	return day
}

// participantID names a child.
func participantID(c *child) string { return fmt.Sprintf("SM-%04d", c.index+1) }

// drawSpells draws every spell of a child that the registry knows of. A child
// that gives up its sport leaves the registry, which shortens lastContact.
func drawSpells(r stream, c *child, blocks []block) []spell {
	s, ok := drawPrevalent(r, c)
	if !ok {
		if s, ok = drawFirst(r, c, blocks); !ok {
			return nil
		}
	}
	return drawLater(r, c, blocks, s)
}

// drawLater draws the spells that follow a first one.
func drawLater(r stream, c *child, blocks []block, first spell) []spell {
	spells := []spell{first}
	for {
		next, ok := drawNext(r, c, blocks, spells)
		if !ok {
			return spells
		}
		spells = append(spells, next)
	}
}

// drawPrevalent draws a spell that began before enrolment, if a heel has not
// recovered by day 0.
func drawPrevalent(r stream, c *child) (spell, bool) {
	if !r.chance(prevalentShare) {
		return spell{}, false
	}
	s := spell{number: 1, onset: -r.days(1, daysBeforeEnrol), sport: c.sports[0]}
	s.drawHeels(r, c, drawSides(r))
	left := false
	for side, h := range s.heels {
		if h != nil && h.returns <= 0 {
			s.heels[side] = nil
		}
		left = left || s.heels[side] != nil
	}
	if left {
		s.drawEnd(r, c)
	}
	return s, left
}

// drawFirst draws the first spell after enrolment in sport-exposure time.
func drawFirst(r stream, c *child, blocks []block) (spell, bool) {
	left := r.ExpFloat64()
	for _, p := range pieces(c, blocks) {
		total := p.total(c)
		if step := total * (p.to - p.from); step < left {
			left -= step
			continue
		}
		rates := make([]float64, len(p.block.sports))
		for i := range rates {
			rates[i] = p.rate(c, i)
		}
		day := math.Min(math.Floor(p.from+left/total), float64(p.block.to-1))
		s := spell{number: 1, onset: int(day), sport: p.block.sports[r.pick(rates...)]}
		s.drawHeels(r, c, drawSides(r))
		s.drawEnd(r, c)
		return s, true
	}
	return spell{}, false
}

// drawNext draws a further spell of a child whose heels have all returned: a
// recurrence of a heel, or seldom the first spell of the other heel.
func drawNext(r stream, c *child, blocks []block, spells []spell) (spell, bool) {
	last := &spells[len(spells)-1]
	var affected []int
	for side, h := range last.heels {
		if h == nil {
			continue
		}
		if h.endType != "returned" {
			return spell{}, false
		}
		affected = append(affected, side)
	}
	var sides [2]bool
	switch {
	case r.chance(recurrenceShare):
		sides[affected[r.IntN(len(affected))]] = true
		if len(affected) == 2 && r.chance(bilateralShare) {
			sides = [2]bool{true, true}
		}
	case len(affected) == 1 && r.chance(newHeelShare):
		sides[1-affected[0]] = true
	default:
		return spell{}, false
	}
	day := last.resumes() + gapBeforeNew + int(r.ExpFloat64()*120)
	for _, b := range blocks {
		if b.to <= day || max(day, b.from) >= c.lastContact {
			continue
		}
		s := spell{number: last.number + 1, onset: max(day, b.from), sport: b.sports[0]}
		s.drawHeels(r, c, sides)
		for side, h := range s.heels {
			for i := range spells {
				if h != nil && spells[i].heels[side] != nil {
					h.earlier++
				}
			}
		}
		s.drawEnd(r, c)
		return s, true
	}
	return spell{}, false
}

// drawSides draws the heels of a first spell.
func drawSides(r stream) [2]bool {
	if r.chance(bilateralShare) {
		return [2]bool{true, true}
	}
	right := r.chance(0.5)
	return [2]bool{right, !right}
}

// drawHeels draws the times from onset to match return: Weibull with
// proportional hazards by arch type, joined by a Gaussian copula.
func (s *spell) drawHeels(r stream, c *child, sides [2]bool) {
	z := [2]float64{r.NormFloat64(), r.NormFloat64()}
	z[1] = float64(heelCopula*z[0]) + float64(math.Sqrt(1-heelCopula*heelCopula)*z[1])
	for side, painful := range sides {
		if painful {
			p := math.Erfc(-z[side]/math.Sqrt2) / 2
			days := math.Max(1, math.Ceil(returnQuantile(c.arch, p)))
			s.heels[side] = &heel{returns: s.onset + int(math.Min(days, 1e6))}
		}
	}
}

// drawEnd draws what ends the follow-up of the spell's heels.
func (s *spell) drawEnd(r stream, c *child) {
	start := max(s.onset, 0)
	gaveUp := start + 1 + int(r.ExpFloat64()/gaveUpHazard)
	injury := start + 1 + int(r.ExpFloat64()/otherInjury)
	delay := r.days(0, 21)
	atLimit := map[string]string{"completed": "study_end", "gave_up_sport": "gave_up_sport"}[c.exit]
	if atLimit == "" {
		atLimit = "lost"
	}
	limit, quit := c.lastContact, false
	for _, h := range s.heels {
		if h == nil {
			continue
		}
		h.end, h.endType = h.returns, "returned"
		if gaveUp < h.end {
			h.end, h.endType = gaveUp, "gave_up_sport"
		}
		if injury < h.end {
			h.end, h.endType = injury, "other_injury"
		}
		if limit < h.end {
			h.end, h.endType = limit, atLimit
		}
		quit = quit || h.end == gaveUp && h.endType == "gave_up_sport"
	}
	if quit && gaveUp+delay < c.lastContact {
		c.lastContact, c.exit = gaveUp+delay, "gave_up_sport"
	}
}
