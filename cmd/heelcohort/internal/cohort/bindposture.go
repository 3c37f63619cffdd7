package cohort

import (
	"errors"
	"fmt"
	"strings"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/codebook/instrument"
	"heelcohort/codebook/value"
)

// errOtherFoot is a child whose affected foot is neither the right nor the left.
var errOtherFoot = errors.New("the affected foot is neither the right nor the left one")

func (s *scoring) bindPostureTotal(i *plan.FootPostureTotal) error {
	if len(i.Items) != instrument.PostureItems {
		return i.Name.Errorf(1, 1, "", "%d items, expected the %d of one foot", len(i.Items), instrument.PostureItems)
	}
	for _, name := range i.Items {
		if err := s.add(name, &instrument.PostureItem, noUnit, "points"); err != nil {
			return err
		}
	}
	s.variable.Unit = "points"
	s.score = func(x []value.Value) (value.Value, error) { return num(instrument.PostureSum(numbers(x))) }
	s.note.Methods = "The foot posture index total of a foot is the sum of its six items, each −2 to 2, and missing where one of them is."
	s.cite(0)
	return nil
}

func (s *scoring) bindPostureClass(i *plan.FootPostureClass) error {
	if err := s.add(i.Total, &instrument.PostureTotal, noUnit, "points"); err != nil {
		return err
	}
	bands, of := instrument.AdultPosture(), "the reference bands in adults"
	if !i.Boundaries.Adult {
		bands, of = instrument.Bands{Upper: i.Boundaries.Upper}, "the boundaries of the plan"
		for _, l := range i.Boundaries.Labels {
			bands.Labels = append(bands.Labels, l.Value)
		}
		if err := bands.Check(instrument.PostureTotal); err != nil {
			return s.model.Plan.Fault(i.Boundaries.Position, "", err.Error())
		}
	}
	s.words(bands.Labels)
	s.score = func(x []value.Value) (value.Value, error) { return str(instrument.PostureClass(x[0].Number, bands)) }
	shown := make([]string, len(bands.Labels))
	low := instrument.PostureTotal.Min
	for k, label := range s.variable.Labels {
		high := instrument.PostureTotal.Max
		if k < len(bands.Upper) {
			high = bands.Upper[k]
		}
		shown[k] = fmt.Sprintf("%s %s to %s", strings.ToLower(label), signed(low), signed(high))
		low = high + 1
	}
	s.set("boundaries", strings.Join(shown, "; "), true)
	s.note.Methods = "Foot posture index totals are classed by " + of + ": " + strings.Join(shown, ", ") + "."
	s.cite(0)
	return nil
}

// signed writes a number with a minus sign that is one.
func signed(x float64) string { return strings.Replace(digits(x), "-", "−", 1) }

func (s *scoring) bindFootOfChild(i *plan.FootOfChild) error {
	if (i.Affected != nil) != (i.Choose == "affected") {
		return i.Name.Errorf(1, 1, "", "affected belongs to choose: affected, and is needed there")
	}
	for _, name := range []document.String{i.Right, i.Left} {
		if err := s.add(name, nil); err != nil {
			return err
		}
	}
	right, left := s.operands[0], s.operands[1]
	if unitName(right.Unit) != unitName(left.Unit) {
		return i.Left.Errorf(1, 1, "", "%q is in %s and %q in %s, expected one unit", left.Name, listUnits([]string{left.Unit}), right.Name, listUnits([]string{right.Unit}))
	}
	s.variable.Unit = right.Unit
	s.set("foot", i.Choose, true)
	pair := right.Name + " and " + left.Name
	switch i.Choose {
	case "larger":
		s.score = func(x []value.Value) (value.Value, error) { return value.Num(max(x[0].Number, x[1].Number)), nil }
		s.note.Methods = "Of " + pair + " a child is given the larger one."
	case "mean":
		s.score = func(x []value.Value) (value.Value, error) {
			return value.Num(instrument.FootMean(x[0].Number, x[1].Number)), nil
		}
		s.note.Methods = "Of " + pair + " a child is given the mean."
	case "right", "left":
		at := 0
		if i.Choose == "left" {
			at = 1
		}
		s.lenient = true // the other foot may be missing
		s.score = func(x []value.Value) (value.Value, error) { return x[at], nil }
		s.note.Methods = "Of " + pair + " a child is given that of the " + i.Choose + " foot."
	case "affected":
		return s.bindAffected(i, pair)
	}
	return nil
}

// bindAffected takes the foot that a variable names. The other foot is not
// looked at, so that it may be missing.
func (s *scoring) bindAffected(i *plan.FootOfChild, pair string) error {
	which, err := s.variableOf(i.Affected.Variable)
	if err != nil {
		return err
	}
	if which.Words == nil {
		return i.Affected.Variable.Errorf(1, 1, "", "%q is a %v%s, expected a variable with categories", which.Name, which.Kind, s.place(which))
	}
	for _, word := range []document.String{i.Affected.Right, i.Affected.Left} {
		if _, err := s.model.Level(which, word); err != nil {
			return err
		}
	}
	right, left := i.Affected.Right.Value, i.Affected.Left.Value
	if right == left {
		return i.Affected.Left.Errorf(1, 1, "", "%q stands for both feet", left)
	}
	s.operands = append([]operand{{Variable: which}}, s.operands...)
	s.lenient = true
	s.score = func(x []value.Value) (value.Value, error) {
		switch {
		case x[0].Missing:
			return value.None(value.Number, x[0].Code), nil
		case x[0].Text == right:
			return x[1], nil
		case x[0].Text == left:
			return x[2], nil
		}
		return value.None(value.Number, value.CodeUndefined), errOtherFoot
	}
	s.set("affected foot", fmt.Sprintf("%s: %s is the right, %s the left", which.Name, right, left), true)
	s.note.Methods = "Of " + pair + " a child is given that of the foot that " + which.Name + " names."
	return nil
}
