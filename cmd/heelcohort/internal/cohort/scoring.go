package cohort

import (
	"errors"
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/instrument"
	"heelcohort/codebook/value"
)

// CodeOutsideReference marks a score at an age that its reference does not
// cover.
const CodeOutsideReference = "outside reference"

// A scoring is an instrument of the plan, bound to the variables of a table.
type scoring struct {
	model    *Model
	table    string
	head     *plan.InstrumentHead
	variable Variable // what it makes
	operands []operand
	lenient  bool // score decides itself what missing operands do

	// score is the value of a row's operands.
	score func(x []value.Value) (value.Value, error)
	// doubt is why a score is doubted, or "".
	doubt func(v value.Value) string

	note result.Instrument
}

// An operand is a variable that an instrument reads.
type operand struct {
	Variable
	legal  *instrument.Legal        // nil where every number is
	doubt  func(x float64) string   // why a value is doubted, or ""
	doubts func(x []float64) string // why all values are, or ""
	wanted string                   // what the values are, for a message
}

// bindScoring checks an instrument against the table's variables.
func (m *Model) bindScoring(table string, d plan.Derived) (*scoring, error) {
	head := d.Instrument.Common()
	known := instrument.Find(head.Name.Value)
	s := &scoring{model: m, table: table, head: head}
	s.variable = Variable{Table: table, Name: d.Name.Value, Label: d.Label, Kind: value.Number}
	s.note = result.Instrument{
		Table: table, Variable: d.Name.Value, Name: known.Name, Line: d.Position.Line, Rights: known.Rights,
	}
	var err error
	switch i := d.Instrument.Instrument.(type) {
	case *plan.FootPostureTotal:
		err = s.bindPostureTotal(i)
	case *plan.FootPostureClass:
		err = s.bindPostureClass(i)
	case *plan.FootOfChild:
		err = s.bindFootOfChild(i)
	case *plan.ArchIndex:
		err = s.bindArchIndex(i)
	case *plan.ArchClass:
		err = s.bindArchClass(i)
	case *plan.NavicularDrop:
		err = s.bindNavicularDrop(i)
	case *plan.NavicularDropAbove:
		err = s.bindNavicularAbove(i)
	case *plan.RearfootAngle:
		err = s.bindRearfoot(i)
	case *plan.PainScore:
		err = s.bindPain(i)
	case *plan.OxfordScore:
		err = s.bindOxford(i)
	case *plan.MaturityOffset:
		err = s.bindMaturity(i)
	case *plan.BMIForAge:
		err = s.bindBMI(i)
	default:
		panic("cohort: an instrument without a binding")
	}
	if err != nil {
		return nil, err
	}
	for _, u := range head.Units {
		if !slices.ContainsFunc(s.operands, func(o operand) bool { return o.Name == u.Key }) {
			return nil, m.Plan.Fault(u.Position, "", fmt.Sprintf("the unit of %q, which the instrument does not read", u.Key))
		}
	}
	if d.Unit != "" && unitName(d.Unit) != unitName(s.variable.Unit) {
		return nil, m.Plan.Fault(d.Position, "", fmt.Sprintf("the unit %q of %q, expected %s, which the instrument gives", d.Unit, d.Name.Value, listUnits([]string{s.variable.Unit})))
	}
	if d.Unit != "" {
		s.variable.Unit = d.Unit
	}
	if s.variable.Label == "" {
		s.variable.Label = s.variable.Name
	}
	for _, o := range s.operands {
		for _, c := range o.Codes {
			if !slices.ContainsFunc(s.variable.Codes, func(k codebook.MissingValue) bool { return k.Value == c.Value }) {
				s.variable.Codes = append(s.variable.Codes, c)
			}
		}
	}
	if one, other, group, mixed := m.pooled(table, s.read()); mixed {
		return nil, head.Name.Errorf(1, 1, "", "%q and %q are scores of a different %s, which are never pooled", one.Name, other.Name, group)
	}
	if s.variable.Kind == value.Number {
		m.inherit(s.variable, table, s.read())
	}
	return s, nil
}

// cite names the sources that a number of the registry's list stands for.
func (s *scoring) cite(which ...int) {
	known := instrument.Find(s.head.Name.Value)
	for _, i := range which {
		s.note.References = append(s.note.References, result.Reference{Key: known.Sources[i].Key, Text: known.Sources[i].Text})
	}
}

// set notes a choice that the scores depend on.
func (s *scoring) set(key, value string, written bool) {
	s.note.Settings = append(s.note.Settings, result.Setting{Key: key, Value: value, Written: written})
}

// read lists the operands as variables of an expression.
func (s *scoring) read() []expression.Variable {
	list := make([]expression.Variable, len(s.operands))
	for i, o := range s.operands {
		list[i] = expression.Variable{Name: o.Name, Slot: i, Kind: o.Kind, Words: o.Words}
	}
	return list
}

// row scores the operands of a row: where one is missing, so is the score, with
// the code of the first.
func (s *scoring) row(x []value.Value) (value.Value, error) {
	if !s.lenient {
		for _, v := range x {
			if v.Missing {
				return value.None(s.variable.Kind, v.Code), nil
			}
		}
	}
	v, err := s.score(x)
	switch {
	case errors.Is(err, instrument.ErrOutsideReference):
		return value.None(s.variable.Kind, CodeOutsideReference), err
	case errors.Is(err, instrument.ErrTooFewItems):
		for _, o := range x {
			if o.Missing {
				return value.None(s.variable.Kind, o.Code), nil
			}
		}
		return value.None(s.variable.Kind, value.CodeUndefined), err
	case err != nil:
		return value.None(s.variable.Kind, value.CodeUndefined), err
	}
	return v, nil
}

// scores computes the instrument on every row of its table, and the account of
// it: values, missing ones by code, and what is doubted.
func (c *Cohort) scores(s *scoring) ([]value.Value, error) {
	t := c.Data.Table(s.table)
	reader, err := c.Data.Reader(t, s.read())
	if err != nil {
		return nil, err
	}
	values := make([]value.Value, t.Len())
	x := make([]value.Value, len(s.operands))
	account := newAccount(s.note)
	for i := range values {
		row := reader.At(i)
		for k := range x {
			x[k] = row.Value(k)
		}
		var cause error
		values[i], cause = s.row(x)
		account.add(values[i])
		account.cause(cause)
		for k, o := range s.operands {
			if o.doubt != nil && !x[k].Missing {
				account.doubt(o.doubt(x[k].Number))
			}
		}
		if s.doubt != nil && !values[i].Missing {
			account.doubt(s.doubt(values[i]))
		}
	}
	c.Instruments = append(c.Instruments, account.done(t, s.operands))
	return values, nil
}

// rows is a number of rows in words.
func rows(n int) string { return printed.Plural(n, "row") }
