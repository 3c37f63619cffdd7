package plan

import "heelcohort/codebook/document"

// RateLimits says how the limits of an incidence analysis are made.
type RateLimits struct {
	Rate       string            `doc:"rate" enum:"exact|mid-p|byar" about:"Limits of rates and of standardised incidence ratios: exact (default), mid-p, or byar, Byar's approximation."`
	Ratio      string            `doc:"ratio" enum:"exact|mid-p|score|log" about:"Limits of rate ratios: exact (default) and mid-p given all events, score, or log, symmetric on the log scale."`
	Difference string            `doc:"difference" enum:"normal|score" about:"Limits of rate differences: normal (default), or score for few events."`
	Position   document.Position `doc:"-"`
}

// Standardise asks for standardised rates and ratios.
type Standardise struct {
	Over     document.String   `doc:"over,required" about:"The variable of by whose mix is made the same, such as age. Rates are standardised by the other variable of by."`
	To       *Standard         `doc:"to" about:"The standard of directly standardised rates: study (its own person-time), the person-time of a group, or weights."`
	Limits   string            `doc:"limits" enum:"gamma|modified-gamma" about:"Limits of directly standardised rates: gamma (default) or modified-gamma, which are shorter."`
	Indirect bool              `doc:"indirect" about:"true: observed events over those expected by the rates of the reference level of the other variable."`
	Position document.Position `doc:"-"`
}

// A Standard is what rates are standardised to: exactly one of Study, Group and
// Weights.
type Standard struct {
	Study    bool
	Group    *document.String
	Weights  document.Ordered[float64]
	Position document.Position
}

type standard struct {
	Group    *document.String          `doc:"group" about:"A level of the other variable of by, whose person-time is the standard."`
	Weights  document.Ordered[float64] `doc:"weights" min:"0" about:"A weight for every level of the variable; their scale does not matter, and 0 leaves a level out."`
	Position document.Position         `doc:"-"`
}

// studyStandard is the word for the study's own person-time.
const studyStandard = "study"

// UnmarshalDocument reads the word study or a map with group or weights.
func (s *Standard) UnmarshalDocument(n *document.Node) error {
	s.Position = n.Position
	if n.Kind != document.Map {
		if n.Kind != document.Text || n.Text != studyStandard {
			return n.ErrorNear(document.Nearest(n.Text, []string{studyStandard}), "found %q, expected study, or a map with group or weights", n.Text)
		}
		s.Study = true
		return nil
	}
	var raw standard
	if err := document.Decode(n, &raw); err != nil {
		return err
	}
	if (raw.Group != nil) == (raw.Weights != nil) {
		return n.Errorf("a standard has group and weights or neither, expected exactly one of them")
	}
	s.Group, s.Weights = raw.Group, raw.Weights
	return nil
}

// DocumentSchema is the schema of the word or of a map with one key.
func (Standard) DocumentSchema() map[string]any {
	one := document.Schema(standard{})
	one["minProperties"], one["maxProperties"] = 1, 1
	return map[string]any{"anyOf": []any{map[string]any{"const": studyStandard}, one}}
}
