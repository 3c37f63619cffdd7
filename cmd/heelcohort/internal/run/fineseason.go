package run

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

const (
	// defaultCutSeason is the length in days of the pieces that person-time is
	// cut into where the day of the season enters the model.
	defaultCutSeason = 7
	// mostSeasonPieces bounds the pieces of a cycle.
	mostSeasonPieces = 1000
	// mostSeasons bounds the cycles of one interval at risk.
	mostSeasons = 1000
)

var errSeasons = fmt.Errorf("an interval of more than %d cycles of the season is not cut", mostSeasons)

// A fineSeason are the pieces of a cycle of days that person-time is cut into
// where the season enters the model: the day of a piece is its middle.
type fineSeason struct {
	zero       *cohort.Formula // of the participants: day of the cycle on study day 0
	written    string          // the formula
	period     float64
	pieces     int
	width      float64 // of a piece
	cutWritten bool
	seen       []bool // pieces with time at risk, once they are cut
}

// atRisk reports whether anybody was at risk at a day from 0 to the period; a
// day between two pieces belongs to both, 0 to the first and the period to the
// last.
func (f *fineSeason) atRisk(day float64) bool {
	tiny := 1e-9 * f.period
	return f.seen[f.slot(max(day-tiny, 0))] || f.seen[f.slot(min(day+tiny, f.period-tiny))]
}

// unplaced is the piece of children whose day of the cycle is missing.
const unplaced = -1

// bindFineSeason makes a term of the day of the season at which person-time
// falls.
func (s *incidence) bindFineSeason(m *cohort.Model, name document.String, p plan.Season) (term, error) {
	if s.model.cycle != nil {
		return term{}, name.Errorf(1, 1, "", "a second season %q with at_zero, expected one", name.Value)
	}
	f := &fineSeason{written: p.AtZero.Value, period: stats.DaysPerYear, cutWritten: p.Cut != nil}
	var err error
	if f.zero, err = m.Expression(s.participants, *p.AtZero, value.Number); err != nil {
		return term{}, err
	}
	if p.Period != nil {
		f.period = *p.Period
	}
	cut := float64(defaultCutSeason)
	if p.Cut != nil {
		cut = *p.Cut
	}
	f.pieces = int(math.Ceil(f.period/cut - 1e-9))
	pairs := 1
	if p.Pairs != nil {
		pairs = *p.Pairs
	}
	switch {
	case f.period/cut > mostSeasonPieces:
		return term{}, m.Plan.Fault(p.Position, "", fmt.Sprintf("cut %v makes %.0f pieces of a cycle of %v days, expected at most %d", cut, f.period/cut, f.period, mostSeasonPieces))
	case f.pieces < 4*pairs:
		return term{}, m.Plan.Fault(p.Position, "", fmt.Sprintf("cut %v makes %d pieces of a cycle of %v days, expected at least %d, four for each pair of sine and cosine", cut, f.pieces, f.period, 4*pairs))
	}
	f.width = f.period / float64(f.pieces)
	label := p.Label
	if label == "" {
		label = name.Value
	}
	s.model.cycle = f
	return term{cycle: true, variable: cohort.Variable{Name: name.Value, Label: label, Unit: "days", Kind: value.Number}}, nil
}

// seasonIndex is the place of the piece of the season among a cell's levels.
func (s *incidence) seasonIndex() int {
	if s.model.fine != nil {
		return len(s.by) + 1
	}
	return len(s.by)
}

// value is the day of a piece, its middle.
func (f *fineSeason) value(slot int) value.Value {
	if slot == unplaced {
		return value.None(value.Number, "")
	}
	return value.Num((float64(slot) + 0.5) * f.width)
}

// slot is the piece that a day of the cycle belongs to.
func (f *fineSeason) slot(day float64) int {
	in := math.Mod(day, f.period)
	if in < 0 {
		in += f.period
	}
	return min(int(in/f.width), f.pieces-1)
}

// cutSeasons cuts pieces further, and gives pieces and events their piece of the
// season as a further index (see fineCells for events).
func (s *incidence) cutSeasons(c *cohort.Cohort, p *persontime) (*persontime, error) {
	f := s.model.cycle
	zeros, err := c.Values(f.zero)
	if err != nil {
		return nil, err
	}
	placed := func(child int) bool { return !zeros[child].Missing && possibleDay(zeros[child].Number) }
	cells := &fineCells{out: &persontime{calendar: p.calendar}}
	f.seen = make([]bool, f.pieces)
	for _, q := range p.pieces {
		zero := zeros[q.child]
		if placed(q.child) && (q.to-q.from)/f.period > mostSeasons {
			return nil, fmt.Errorf("%w: from day %v to day %v", errSeasons, q.from, q.to)
		}
		if !placed(q.child) {
			cells.add(q, q.from, q.to, q.amount, unplaced)
			continue
		}
		var bounds []float64 // study days at which pieces of the season begin
		first := math.Floor((q.from + zero.Number) / f.width)
		for k := first + 1; k*f.width-zero.Number < q.to; k++ {
			bounds = append(bounds, k*f.width-zero.Number)
		}
		for _, part := range q.interval().SplitAt(bounds) {
			slot := f.slot((part.From+part.To)/2 + zero.Number)
			f.seen[slot] = f.seen[slot] || part.Amount > 0
			cells.add(q, part.From, part.To, part.Amount, slot)
		}
	}
	for _, e := range p.events {
		slot := unplaced
		if placed(e.child) {
			slot = f.slot(e.day + zeros[e.child].Number)
		}
		cells.place(e, slot)
	}
	return cells.out, nil
}
