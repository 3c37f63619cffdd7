package cohort

import (
	"slices"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/codebook/instrument"
	"heelcohort/codebook/value"
)

// number finds a number that an instrument reads. Its unit, from the codebook
// or else from the plan, is one of those given; its legal values are bounded by
// legal, where not nil.
func (s *scoring) number(name document.String, legal *instrument.Legal, allowed ...string) (operand, error) {
	v, err := s.variableOf(name)
	if err != nil {
		return operand{}, err
	}
	o := operand{Variable: v, legal: legal, wanted: "a number"}
	if legal != nil {
		o.wanted = legal.String()
	}
	if v.Kind != value.Number {
		hint := ""
		if v.Words != nil {
			hint = ", without categories"
		}
		return operand{}, name.Errorf(1, 1, "", "%q is a %v%s, expected %s%s", v.Name, v.Kind, s.place(v), o.wanted, hint)
	}
	if o.Unit, err = s.unit(name, v); err != nil {
		return operand{}, err
	}
	if len(allowed) > 0 && !slices.Contains(allowed, unitName(o.Unit)) {
		if o.Unit == "" {
			return operand{}, name.Errorf(1, 1, "", "%q has no unit%s, expected %s there, or units: {%s: %s} here", v.Name, s.place(v), listUnits(allowed), v.Name, allowed[0])
		}
		return operand{}, name.Errorf(1, 1, "", "%q is in %s%s, expected %s", v.Name, o.Unit, s.place(v), listUnits(allowed))
	}
	return o, s.legalRange(name, o)
}

// legalRange refuses a field whose declared values are not all legal.
func (s *scoring) legalRange(name document.String, o operand) error {
	f := s.model.Package.Resource(s.table).Schema.Field(o.Name)
	if f == nil || o.legal == nil {
		return nil
	}
	if o.legal.Step > 0 && f.Type != codebook.TypeInteger {
		return name.Errorf(1, 1, "", "%q is of type %s%s, expected integer: %s", o.Name, f.Type, s.place(o.Variable), o.legal)
	}
	k := &f.Constraints
	for _, limit := range []*value.Value{k.Minimum, k.Maximum} {
		if limit != nil && (limit.Number < o.legal.Min || limit.Number > o.legal.Max) {
			return name.Errorf(1, 1, "", "the codebook lets %q be %v%s, expected %s", o.Name, *limit, s.place(o.Variable), o.legal)
		}
	}
	for _, e := range k.Enum {
		if !o.legal.Has(e.Number) {
			return name.Errorf(1, 1, "", "the codebook lets %q be %v%s, expected %s", o.Name, e, s.place(o.Variable), o.legal)
		}
	}
	return nil
}

// unit is the unit of a variable: the codebook's, or the plan's where that has
// none.
func (s *scoring) unit(name document.String, v Variable) (string, error) {
	written, there := s.head.Units.Get(v.Name)
	if !there {
		return v.Unit, nil
	}
	if v.Unit != "" && unitName(v.Unit) != unitName(written.Value) {
		return "", written.Errorf(1, 1, "", "the unit %q of %q, which is in %s%s", written.Value, name.Value, v.Unit, s.place(v))
	}
	return written.Value, nil
}

// place says where the codebook has a variable.
func (s *scoring) place(v Variable) string {
	if f := s.model.Package.Resource(s.table).Schema.Field(v.Name); f != nil && f.Position.Line > 0 {
		return " (" + f.Position.String() + ")"
	}
	return ""
}

// variableOf finds a variable of the table, each once.
func (s *scoring) variableOf(name document.String) (Variable, error) {
	v, err := s.model.Variable(s.table, name)
	if err != nil {
		return v, err
	}
	if slices.ContainsFunc(s.operands, func(o operand) bool { return o.Name == v.Name }) {
		return v, name.Errorf(1, 1, "", "%q stands twice in the instrument", v.Name)
	}
	return v, nil
}

// add takes a number among the operands.
func (s *scoring) add(name document.String, legal *instrument.Legal, allowed ...string) error {
	o, err := s.number(name, legal, allowed...)
	if err == nil {
		s.operands = append(s.operands, o)
	}
	return err
}
