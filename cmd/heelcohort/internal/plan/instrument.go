package plan

import (
	"slices"
	"strings"

	"heelcohort/codebook/document"
)

// An InstrumentHead is what every instrument has.
type InstrumentHead struct {
	Name     document.String                   `doc:"name,required" about:"Name of the instrument."`
	Units    document.Ordered[document.String] `doc:"units" about:"Units of variables for which the codebook has none, by variable."`
	Position document.Position                 `doc:"-"`
}

// Common is the part that every instrument has.
func (h *InstrumentHead) Common() *InstrumentHead { return h }

// An Instrument scores a row: *FootPostureTotal, *FootPostureClass, *FootOfChild,
// *ArchIndex, *ArchClass, *NavicularDrop, *NavicularDropAbove, *RearfootAngle,
// *PainScore, *OxfordScore, *MaturityOffset or *BMIForAge.
type Instrument interface{ Common() *InstrumentHead }

// An InstrumentKind is one instrument that a plan can name.
type InstrumentKind struct {
	Name string
	Doc  string
	New  func() Instrument
}

// Instruments lists the instruments, in the order of their documentation.
func Instruments() []InstrumentKind {
	return []InstrumentKind{
		{"foot-posture-total", "Total of the six items of the foot posture index of one foot, -12 to 12.", func() Instrument { return new(FootPostureTotal) }},
		{"foot-posture-class", "Class of a foot posture index total by boundaries that the plan names.", func() Instrument { return new(FootPostureClass) }},
		{"foot-of-child", "One number a child from a number of either foot.", func() Instrument { return new(FootOfChild) }},
		{"arch-index", "Arch index from the areas of a footprint; larger is flatter.", func() Instrument { return new(ArchIndex) }},
		{"arch-class", "Class of an arch index by boundaries that the plan names: high, normal, flat.", func() Instrument { return new(ArchClass) }},
		{"navicular-drop", "Height of the navicular sitting less standing, in mm.", func() Instrument { return new(NavicularDrop) }},
		{"navicular-drop-above", "Whether a navicular drop is above a threshold in mm that the plan names.", func() Instrument { return new(NavicularDropAbove) }},
		{"rearfoot-angle", "Rearfoot angle in degrees, valgus positive.", func() Instrument { return new(RearfootAngle) }},
		{"pain-score", "Score of one pain scale, its values checked. Scores of different scales are never pooled.", func() Instrument { return new(PainScore) }},
		{"oxford-foot-score", "Score of one domain of the Oxford ankle foot questionnaire for children, 0 to 100.", func() Instrument { return new(OxfordScore) }},
		{"maturity-offset", "Predicted years from peak height velocity.", func() Instrument { return new(MaturityOffset) }},
		{"bmi-for-age", "z-score or percentile of body mass index for age and sex.", func() Instrument { return new(BMIForAge) }},
	}
}

// A Scoring is an instrument with its parameters.
type Scoring struct{ Instrument }

// UnmarshalDocument reads the instrument that name says.
func (s *Scoring) UnmarshalDocument(n *document.Node) error {
	var names []string
	for _, k := range Instruments() {
		names = append(names, k.Name)
	}
	expected := strings.Join(names, ", ")
	if n.Kind != document.Map {
		return n.Errorf("found %v, expected an instrument with its name, one of %s", n.Kind, expected)
	}
	name := n.Get("name")
	if name == nil {
		return n.Errorf("an instrument has no name, expected one of %s", expected)
	}
	i := slices.Index(names, name.Text)
	if name.Kind != document.Text || i < 0 {
		return name.ErrorNear(document.Nearest(name.Text, names), "unknown instrument %q, expected one of %s", name.Text, expected)
	}
	s.Instrument = Instruments()[i].New()
	return document.Decode(n, s.Instrument)
}

// DocumentSchema is the schema of a map of one of the instruments.
func (Scoring) DocumentSchema() map[string]any {
	var kinds []any
	for _, k := range Instruments() {
		schema := document.Schema(k.New())
		delete(schema, "$schema")
		schema["title"], schema["description"] = k.Name, k.Doc
		schema["properties"].(map[string]any)["name"] = map[string]any{"const": k.Name}
		kinds = append(kinds, schema)
	}
	return map[string]any{"oneOf": kinds}
}
