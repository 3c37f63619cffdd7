package codebook

import (
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// Names of the rules that Implausible applies.
const (
	RulePlausibleMinimum = "plausible minimum"
	RulePlausibleMaximum = "plausible maximum"
)

// Plausible is the range in which values are expected; nil does not limit. It
// lies within the possible values of the field's constraints. A value outside
// of it is a value all the same.
type Plausible struct{ Minimum, Maximum *value.Value }

type rawPlausible struct {
	Minimum  *document.Scalar  `doc:"minimum" about:"Least value that is plausible."`
	Maximum  *document.Scalar  `doc:"maximum" about:"Greatest value that is plausible."`
	Position document.Position `doc:"-"`
}

// plausible reads the plausible range of a field. It must be narrower than the
// possible one, or it would say nothing.
func (c *checker) plausible(f *Field, raw *rawPlausible) {
	if raw == nil {
		return
	}
	if raw.Minimum == nil && raw.Maximum == nil {
		c.at(raw.Position, "", "plausible is empty, expected minimum or maximum")
		return
	}
	amount := (f.Type == TypeInteger || f.Type == TypeNumber || f.Type == TypeDate) && len(f.words) == 0
	if !c.suits(f, raw.Position, "plausible", amount) {
		return
	}
	for _, p := range []struct {
		name   string
		scalar *document.Scalar
		into   **value.Value
	}{
		{"plausible minimum", raw.Minimum, &f.Plausible.Minimum},
		{"plausible maximum", raw.Maximum, &f.Plausible.Maximum},
	} {
		if p.scalar == nil {
			continue
		}
		v, ok := c.scalar(f, *p.scalar, p.name)
		if !ok {
			continue
		}
		if f.Constraints.broken(f, v) != "" {
			c.add(p.scalar.Errorf("", "%s %s of %s is no possible value: %s", p.name, f.show(v), f.Name, f.Expected()))
			continue
		}
		*p.into = &v
	}
	if low, high := f.Plausible.Minimum, f.Plausible.Maximum; low != nil && high != nil && low.Number > high.Number {
		c.at(raw.Position, "", "plausible minimum %s of %s is above its plausible maximum %s", f.show(*low), f.Name, f.show(*high))
	}
}

// Implausible says why a value is doubtful, or nil. A missing value is not. The
// value itself is legal and stays.
func (f *Field) Implausible(v value.Value) *Fault {
	p := &f.Plausible
	if v.Missing || v.Kind != value.Number && v.Kind != value.Date {
		return nil
	}
	rule := ""
	switch {
	case p.Minimum != nil && v.Number < p.Minimum.Number:
		rule = RulePlausibleMinimum
	case p.Maximum != nil && v.Number > p.Maximum.Number:
		rule = RulePlausibleMaximum
	default:
		return nil
	}
	limits := Constraints{Minimum: p.Minimum, Maximum: p.Maximum}
	expected := ""
	if f.Type == TypeDate {
		expected = "plausibly " + limits.limits(f, "not before", "after", "not after", "before")
	} else {
		expected = "plausibly " + limits.limits(f, "at least", "above", "at most", "below") + " " + f.Unit
	}
	return &Fault{Rule: rule, Expected: strings.TrimSpace(expected)}
}
