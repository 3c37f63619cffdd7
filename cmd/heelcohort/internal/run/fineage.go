package run

import (
	"fmt"
	"slices"

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
// a further index. An event on the day that a piece of age begins, at which the
// child's time ends, belongs to the piece before.
func (s *incidence) cutAges(c *cohort.Cohort, p *persontime) (*persontime, error) {
	f := s.model.fine
	ages, err := c.Values(s.age)
	if err != nil {
		return nil, err
	}
	type key struct {
		child, slot int
		at          [2]int
	}
	keyOf := func(child int, at []int, slot int) key {
		k := key{child: child, slot: slot}
		copy(k.at[:], at)
		return k
	}
	time := map[key]float64{}
	out := &persontime{calendar: p.calendar}
	for _, q := range p.pieces {
		for _, part := range stats.SplitByAge(q.interval(), ages[q.child].Number, f.bounds) {
			slot := min(max(part.Band, 0), len(f.bounds)-2)
			one := q
			one.from, one.to, one.amount = part.From, part.To, part.Amount
			one.at = append(slices.Clone(q.at), slot)
			time[keyOf(q.child, q.at, slot)] += part.Amount
			out.pieces = append(out.pieces, one)
		}
	}
	for _, e := range p.events {
		slot := 0
		for i, bound := range f.bounds[:len(f.bounds)-1] {
			if e.day >= stats.AgeDay(bound, ages[e.child].Number) {
				slot = i
			}
		}
		if slot > 0 && time[keyOf(e.child, e.at, slot)] == 0 && time[keyOf(e.child, e.at, slot-1)] > 0 {
			slot--
		}
		e.at = append(slices.Clone(e.at), slot)
		out.events = append(out.events, e)
	}
	return out, nil
}
