package cohort

import (
	"bytes"
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/codebook/instrument"
	"heelcohort/codebook/value"
)

// positive are the values of a body measure.
var positive = instrument.Legal{Min: 0, Max: math.MaxFloat64}

// bindSex takes the variable of sex as the next operand.
func (s *scoring) bindSex(x plan.SexVariable) (func(value.Value) (instrument.Sex, error), error) {
	v, err := s.variableOf(x.Variable)
	if err != nil {
		return nil, err
	}
	if v.Words == nil {
		return nil, x.Variable.Errorf(1, 1, "", "%q is a %v%s, expected a variable with categories", v.Name, v.Kind, s.place(v))
	}
	for _, word := range []document.String{x.Boys, x.Girls} {
		if _, err := s.model.Level(v, word); err != nil {
			return nil, err
		}
	}
	boys, girls := x.Boys.Value, x.Girls.Value
	if boys == girls {
		return nil, x.Girls.Errorf(1, 1, "", "%q stands for both sexes", girls)
	}
	s.operands = append(s.operands, operand{Variable: v})
	s.set("sex", fmt.Sprintf("%s: %s are boys, %s girls", v.Name, boys, girls), true)
	return func(v value.Value) (instrument.Sex, error) {
		switch v.Text {
		case boys:
			return instrument.Boy, nil
		case girls:
			return instrument.Girl, nil
		}
		return 0, fmt.Errorf("%w: sex is neither of the two words", instrument.ErrIllegal)
	}, nil
}

// bindAge takes age as the next operand and gives its unit's length in months.
func (s *scoring) bindAge(name document.String) (months float64, err error) {
	if err := s.add(name, &positive, "years", "months", "days"); err != nil {
		return 0, err
	}
	o := s.operands[len(s.operands)-1]
	unit := unitName(o.Unit)
	switch unit {
	case "months":
		months = 1
	case "days":
		months = 12 / 365.25
	default:
		months = 12
	}
	f := s.model.Package.Resource(s.table).Schema.Field(o.Name)
	if f != nil && f.Type == codebook.TypeInteger && unit != "days" {
		s.note.Warnings = append(s.note.Warnings, fmt.Sprintf("%s is in whole %s: a child is taken to be exactly as old, which is up to one of them too young.", o.Name, unit))
	}
	s.set("age", o.Name+" in "+unit, true)
	return months, nil
}

func (s *scoring) bindMaturity(i *plan.MaturityOffset) error {
	equation := instrument.MaturityEquation(i.Equation)
	sex, err := s.bindSex(i.Sex)
	if err != nil {
		return err
	}
	months, err := s.bindAge(i.Age)
	if err != nil {
		return err
	}
	from, to := equation.Ages()
	s.operands[1].doubt = func(x float64) string {
		if years := x * months / 12; years < from || years > to {
			return fmt.Sprintf("An age is outside the %s to %s years of the children behind the equation %s: the offset is extrapolated.", digits(from), digits(to), equation)
		}
		return ""
	}
	sitting, weight := equation.Needs()
	at := map[string]int{}
	for _, m := range []struct {
		key    string
		name   *document.String
		needed bool
		unit   string
	}{{"height", i.Height, true, "cm"}, {"sitting_height", i.SittingHeight, sitting, "cm"}, {"weight", i.Weight, weight, "kg"}} {
		switch {
		case m.needed && m.name == nil:
			return i.Name.Errorf(1, 1, "", "%s has no %s, expected a variable in %s", equation, m.key, m.unit)
		case !m.needed && m.name != nil:
			return m.name.Errorf(1, 1, "", "%s does not use %s", equation, m.key)
		case m.needed:
			if err := s.add(*m.name, &positive, m.unit); err != nil {
				return err
			}
			at[m.key] = len(s.operands) - 1
		}
	}
	heightAt, sittingAt, weightAt := at["height"], at["sitting_height"], at["weight"]
	peak := i.Give == "age-at-peak"
	s.variable.Unit = "years"
	// What a child of its sex does not need may be missing.
	s.lenient = true
	s.score = func(x []value.Value) (value.Value, error) {
		if x[0].Missing {
			return value.None(value.Number, x[0].Code), nil
		}
		of, err := sex(x[0])
		if err != nil {
			return value.Value{}, err
		}
		child := instrument.Child{Sex: of, Age: x[1].Number * months / 12}
		for k, v := range x {
			spare := equation == instrument.MooreSitting && (k == heightAt) == (child.Sex == instrument.Boy) && k >= 2
			if v.Missing && !spare {
				return value.None(value.Number, v.Code), nil
			}
		}
		child.Height = x[heightAt].Number
		if sitting {
			child.Sitting = x[sittingAt].Number
		}
		if weight {
			child.Weight = x[weightAt].Number
		}
		offset, err := instrument.MaturityOffset(equation, child)
		if peak {
			return num(child.Age-offset, err)
		}
		return num(offset, err)
	}
	s.set("equation", i.Equation, true)
	gives := "years from peak height velocity"
	if peak {
		gives = "age at peak height velocity, age less the offset,"
		s.set("gives", i.Give, true)
	}
	author, source := "Mirwald and colleagues (2002)", 0
	if equation != instrument.Mirwald {
		author, source = "Moore and colleagues (2015)", 1
	}
	with := "height"
	switch equation {
	case instrument.Mirwald:
		with = "age, height, sitting height and weight"
	case instrument.Moore:
		with = "age and height"
	case instrument.MooreSitting:
		with = "age and sitting height in boys, and age and height in girls"
	}
	s.note.Methods = fmt.Sprintf("The %s is predicted by the equations of %s from %s; the error of prediction is about 0.6 years.", gives, author, with)
	if !peak {
		s.note.Methods = fmt.Sprintf("Maturity offset, the %s, is predicted by the equations of %s from %s; the error of prediction is about 0.6 years.", gives, author, with)
	}
	s.cite(source)
	return nil
}

func (s *scoring) bindBMI(i *plan.BMIForAge) error {
	reference, of := instrument.BMICDC2000(), "the growth charts of the Centers for Disease Control and Prevention of 2000"
	if !i.Reference.CDC {
		name := i.Reference.Parameters
		var err error
		reference, err = instrument.ReadReference(bytes.NewReader(i.Reference.Table), i.Reference.Boys, i.Reference.Girls)
		if err != nil {
			return name.Errorf(1, 1, "", "%s: %v", name.Value, err)
		}
		of = i.Reference.Source
		s.note.Rights = "The table is the study's own to answer for."
		s.set("table", name.Value, true)
	}
	sex, err := s.bindSex(i.Sex)
	if err != nil {
		return err
	}
	months, err := s.bindAge(i.Age)
	if err != nil {
		return err
	}
	if err := s.add(i.BMI, &positive, "kg/m2"); err != nil {
		return err
	}
	tails, percentile := instrument.Tails(i.Tails), i.Give == "percentile"
	if tails == instrument.CDCTails && !i.Reference.CDC {
		return s.model.Plan.Fault(i.Reference.Position, "", "tails: cdc belong to reference: cdc-2000, whose constants they are")
	}
	s.score = func(x []value.Value) (value.Value, error) {
		of, err := sex(x[0])
		if err != nil {
			return value.Value{}, err
		}
		z, err := reference.Z(of, x[1].Number*months, x[2].Number, tails)
		if percentile {
			return num(instrument.Percentile(z), err)
		}
		return num(z, err)
	}
	s.set("reference", of, true)
	s.set("tails", i.Tails, true)
	gives := "z-scores"
	if percentile {
		gives, s.variable.Unit = "percentiles", "%"
		s.set("gives", i.Give, true)
	}
	how := map[instrument.Tails]string{
		instrument.PlainTails: "",
		instrument.WHOTails:   "; beyond 3 standard deviations they are measured in the distance between the second and the third",
		instrument.CDCTails:   "; above the 95th percentile the extended method is used",
	}[tails]
	s.note.Methods = fmt.Sprintf("Body mass index is given as %s for age and sex by the LMS method with %s, its parameters on straight lines between the ages of the table%s.", gives, of, how)
	s.cite(0)
	if i.Reference.CDC {
		s.cite(1)
	}
	switch tails {
	case instrument.CDCTails:
		s.cite(2)
	case instrument.WHOTails:
		s.cite(3)
	}
	return nil
}
