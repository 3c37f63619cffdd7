package demo

import (
	"math"
	"slices"
)

// A block is what a child played in some weeks of a season, at a constant
// intensity: hours by sport, over the days [from, to).
type block struct {
	season, week int // the season's index and the week of its first day
	from, to     int
	sports       []int
	training     []float64 // hours in the block, by position in sports
	match        []float64
}

// hours is the child's total in the block in the sport at position i.
func (b *block) hours(i int) float64 { return b.training[i] + b.match[i] }

// drawBlocks draws the hours that the child plays while free of symptoms.
func drawBlocks(r stream, c *child) []block {
	training := make([]float64, len(c.sports)) // weekly
	match := make([]float64, len(c.sports))
	for i := range c.sports {
		training[i], match[i] = r.between(0.75, 2.5), r.between(0, 1)
		if i == 0 {
			training[i], match[i] = r.between(1.5, 5), r.between(0.5, 1.5)
		}
	}
	var blocks []block
	for season := c.season; season < len(Seasons); season++ {
		for week := 1; week <= seasonWeeks; week += blockWeeks {
			start := (season-c.season)*seasonDays + (week-c.week)*7
			b := block{season: season, from: max(start, 0), to: min(start+blockWeeks*7, c.lastContact)}
			if b.from >= b.to {
				continue
			}
			b.week = week + (b.from-start)/7
			weeks := float64(b.to-b.from) / 7
			for i, s := range c.sports {
				if i > 0 && r.chance(0.25) {
					continue // other sports are not played all year
				}
				b.sports = append(b.sports, s)
				b.training = append(b.training, halves(training[i]*weeks*r.between(0.7, 1.2)))
				b.match = append(b.match, halves(match[i]*weeks*r.between(0.5, 1.2)))
			}
			blocks = append(blocks, b)
		}
	}
	return blocks
}

// halves rounds hours to half hours.
func halves(hours float64) float64 { return math.Round(hours*2) / 2 }

// A piece is a part of a block within one band of current age: constant
// hazards over the real days [from, to).
type piece struct {
	block    *block
	band     int
	from, to float64
}

// pieces cuts the blocks at the days on which the child enters a new band.
func pieces(c *child, blocks []block) []piece {
	var cut []piece
	for i := range blocks {
		b := &blocks[i]
		from := float64(b.from)
		for a := range len(AgeEdges) - 1 {
			enters := (AgeEdges[a+1] - c.age) * daysInYear
			if to := math.Min(enters, float64(b.to)); to > from {
				cut = append(cut, piece{block: b, band: a, from: from, to: to})
				from = to
			}
		}
	}
	return cut
}

// rate is the true hazard of a first episode a day from the sport at position
// i of the piece's block.
func (p *piece) rate(c *child, i int) float64 {
	b := p.block
	return hazard(p.band, b.sports[i], c.arch) * b.hours(i) / float64(b.to-b.from)
}

// total is the true hazard of a first episode a day from all sports.
func (p *piece) total(c *child) float64 {
	sum := 0.0
	for i := range p.block.sports {
		sum += p.rate(c, i)
	}
	return sum
}

// addExposures records the child's blocks. A block is cut where a spell starts
// and where play is resumed; in between the child plays less. Nothing is
// played after giving up.
func (reg *Registry) addExposures(r stream, c *child, blocks []block, spells []spell) {
	for i := range blocks {
		b := &blocks[i]
		cuts := []int{b.from, min(b.to, c.lastContact)}
		for _, s := range spells {
			for _, day := range []int{s.onset, s.resumes()} {
				if day > b.from && day < cuts[1] {
					cuts = append(cuts, day)
				}
			}
		}
		slices.Sort(cuts)
		cuts = slices.Compact(cuts)
		for k := range len(cuts) - 1 {
			if cuts[k] >= b.from && cuts[k+1] <= b.to && cuts[k] < cuts[k+1] {
				reg.addPart(r, c, b, cuts[k], cuts[k+1], inSpell(spells, cuts[k]))
			}
		}
	}
}

// inSpell says whether the child has symptoms on a day.
func inSpell(spells []spell, day int) bool {
	for _, s := range spells {
		if day >= s.onset && day < s.resumes() {
			return true
		}
	}
	return false
}

// addPart records the days [from, to) of a block, a row a sport.
func (reg *Registry) addPart(r stream, c *child, b *block, from, to int, less bool) {
	share := float64(to-from) / float64(b.to-b.from)
	if less {
		share *= reducedPlay
	}
	for i, s := range b.sports {
		e := Exposure{
			Participant: participantID(c), Child: c.index, Sport: Sports[s], Season: Seasons[b.season],
			SeasonWeek: b.week + (from-b.from)/7, From: from, To: to,
			HoursTraining: round(b.training[i]*share, 1), HoursMatch: round(b.match[i]*share, 1),
		}
		e.SessionsTraining = sessions(r, e.HoursTraining, 1.4)
		e.SessionsMatch = sessions(r, e.HoursMatch, 1.1)
		reg.Exposures = append(reg.Exposures, e)
	}
}

// sessions is the number of sessions that make up hours, now and then not
// recorded.
func sessions(r stream, hours, each float64) Measure {
	switch {
	case r.chance(0.006):
		return none("NM")
	case hours == 0:
		return known(0)
	}
	return known(math.Max(1, math.Round(hours/each)))
}
