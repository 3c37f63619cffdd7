package cohort

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/codebook/instrument"
	"heelcohort/codebook/value"
)

func (s *scoring) bindArchIndex(i *plan.ArchIndex) error {
	for _, name := range []document.String{i.Forefoot, i.Midfoot, i.Heel} {
		if err := s.add(name, &instrument.Area); err != nil {
			return err
		}
		o, first := s.operands[len(s.operands)-1], s.operands[0]
		switch {
		case o.Unit == "":
			return name.Errorf(1, 1, "", "%q has no unit%s, expected one there, or in units here", o.Name, s.place(o.Variable))
		case unitName(o.Unit) != unitName(first.Unit):
			return name.Errorf(1, 1, "", "%q is in %s%s and %q in %s, expected one unit", o.Name, o.Unit, s.place(o.Variable), first.Name, first.Unit)
		}
	}
	if s.variable.Label == "" {
		s.variable.Label = "Arch index (larger is flatter)"
	}
	s.score = func(x []value.Value) (value.Value, error) {
		return num(instrument.ArchIndex(x[0].Number, x[1].Number, x[2].Number))
	}
	s.note.Methods = "The arch index is the area of the middle third of the footprint without toes over the whole area; a larger index is a flatter foot."
	s.cite(0)
	return nil
}

func (s *scoring) bindArchClass(i *plan.ArchClass) error {
	if err := s.add(i.Index, &instrument.Ratio, noUnit); err != nil {
		return err
	}
	high, flat, of := instrument.CavanaghHigh, instrument.CavanaghFlat, "Cavanagh and Rodgers's quartiles"
	if !i.Boundaries.Cavanagh {
		high, flat, of = i.Boundaries.High, i.Boundaries.Flat, "the boundaries of the plan"
		if !(high < flat) {
			return s.model.Plan.Fault(i.Boundaries.Position, "", fmt.Sprintf("high is %s and flat %s, expected high below flat", digits(high), digits(flat)))
		}
	}
	s.words([]string{instrument.ArchHigh, instrument.ArchNormal, instrument.ArchFlat})
	s.score = func(x []value.Value) (value.Value, error) { return str(instrument.ArchClass(x[0].Number, high, flat)) }
	s.set("boundaries", fmt.Sprintf("high up to %s, flat from %s", digits(high), digits(flat)), true)
	s.note.Methods = fmt.Sprintf("Arches are classed by %s: high with an arch index of at most %s, flat with one of at least %s, normal between; a larger index is a flatter foot.", of, digits(high), digits(flat))
	s.cite(0)
	return nil
}

// doubtDrop doubts a navicular drop in mm.
func doubtDrop(x float64) string {
	switch {
	case x < 0:
		return "A navicular drop is negative: the navicular stood higher under load."
	case x > instrument.MostNavicularDrop:
		return fmt.Sprintf("A navicular drop is above %d mm.", instrument.MostNavicularDrop)
	}
	return ""
}

func (s *scoring) bindNavicularDrop(i *plan.NavicularDrop) error {
	for _, name := range []document.String{i.Sitting, i.Standing} {
		if err := s.add(name, &instrument.Height, "mm"); err != nil {
			return err
		}
	}
	s.variable.Unit = "mm"
	s.score = func(x []value.Value) (value.Value, error) {
		return num(instrument.NavicularDrop(x[0].Number, x[1].Number))
	}
	s.doubt = func(v value.Value) string { return doubtDrop(v.Number) }
	s.note.Methods = "The navicular drop is the height of the navicular sitting less that standing."
	s.cite(0)
	return nil
}

func (s *scoring) bindNavicularAbove(i *plan.NavicularDropAbove) error {
	if err := s.add(i.Drop, nil, "mm"); err != nil {
		return err
	}
	s.operands[0].doubt = doubtDrop
	s.variable.Kind = value.Bool
	s.score = func(x []value.Value) (value.Value, error) { return value.Truth(x[0].Number > i.Threshold), nil }
	s.set("threshold", digits(i.Threshold)+" mm", true)
	s.note.Methods = "A navicular drop above " + digits(i.Threshold) + " mm is called excessive."
	s.cite(0)
	return nil
}

func (s *scoring) bindRearfoot(i *plan.RearfootAngle) error {
	if err := s.add(i.Angle, &instrument.Angle, "degrees"); err != nil {
		return err
	}
	s.variable.Unit = "degrees"
	s.score = func(x []value.Value) (value.Value, error) {
		return num(instrument.RearfootValgus(x[0].Number, i.Positive == "varus"))
	}
	s.set("positive in the data", i.Positive, true)
	s.note.Methods = "Rearfoot angles are given with valgus positive."
	if i.Positive == "varus" {
		s.note.Methods = "Rearfoot angles, in the data positive in varus, are given with valgus positive."
	}
	return nil
}
