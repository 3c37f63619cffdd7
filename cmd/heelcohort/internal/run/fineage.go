package run

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

const (
	// defaultCutAge is the length in years of the pieces that person-time is cut
	// into where age is a number in the model.
	defaultCutAge = 0.25
	// mostAgePieces bounds the pieces of the ages of the bands.
	mostAgePieces = 1000
)

// fineAges are the pieces of ages that person-time is cut into where current
// age enters the model as a number: the age of a piece is its middle.
type fineAges struct {
	cut    float64
	bounds []float64 // in years: the lower ends, then the end of the last
}

// bindFineAge makes current age a number in the model, for its spline.
func (s *incidence) bindFineAge(m *cohort.Model, p *plan.RateModel, t *term) error {
	f := &fineAges{cut: defaultCutAge}
	if p.CutAge != nil {
		f.cut = *p.CutAge
	}
	if level, ok := p.Reference.Get(t.variable.Name); ok {
		return level.Errorf(1, 1, "", "%q is a number in the model and has no reference level", t.variable.Name)
	}
	first, last := s.bands[0], s.bands[len(s.bands)-1]
	n := (last - first) / f.cut
	if n > mostAgePieces {
		return m.Plan.Fault(p.Position, "", fmt.Sprintf("cut_age %v makes %.0f pieces of the ages %v to %v, expected at most %d", f.cut, n, first, last, mostAgePieces))
	}
	for k := 0; ; k++ {
		age := first + float64(k)*f.cut
		if age > last-1e-6*f.cut {
			break
		}
		f.bounds = append(f.bounds, age)
	}
	f.bounds = append(f.bounds, last)
	s.model.fine = f
	t.fine = true
	t.variable = cohort.Variable{Name: t.variable.Name, Label: t.variable.Label, Unit: "years", Kind: value.Number}
	return nil
}

// middle is the age of a piece.
func (f *fineAges) middle(slot int) float64 { return (f.bounds[slot] + f.bounds[slot+1]) / 2 }

// cutAges cuts pieces further, and gives pieces and events their piece of age as
// a further index (see fineCells for events).
func (s *incidence) cutAges(c *cohort.Cohort, p *persontime) (*persontime, error) {
	f := s.model.fine
	ages, err := c.Values(s.age)
	if err != nil {
		return nil, err
	}
	cells := &fineCells{out: &persontime{calendar: p.calendar}}
	for _, q := range p.pieces {
		for _, part := range stats.SplitByAge(q.interval(), ages[q.child].Number, f.bounds) {
			cells.add(q, part.From, part.To, part.Amount, min(max(part.Band, 0), len(f.bounds)-2))
		}
	}
	for _, e := range p.events {
		slot := 0
		for i, bound := range f.bounds[:len(f.bounds)-1] {
			if e.day >= stats.AgeDay(bound, ages[e.child].Number) {
				slot = i
			}
		}
		cells.place(e, slot)
	}
	return cells.out, nil
}
