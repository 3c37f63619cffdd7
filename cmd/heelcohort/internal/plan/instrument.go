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

// FootPostureTotal adds up the items of one foot.
type FootPostureTotal struct {
	InstrumentHead
	Items []document.String `doc:"items,required" about:"The six items of one foot, each -2 to 2. The total is missing where one of them is."`
}

// FootPostureClass puts a total into a class.
type FootPostureClass struct {
	InstrumentHead
	Total      document.String   `doc:"total,required" about:"The total, a whole number from -12 to 12."`
	Boundaries PostureBoundaries `doc:"boundaries,required" about:"adult, the reference bands in adults, or a map of the study's own with upper and labels. There is no default."`
}

// PostureBoundaries are the adult reference bands or the study's own.
type PostureBoundaries struct {
	Adult    bool
	Upper    []float64
	Labels   []document.String
	Position document.Position
}

type postureBoundaries struct {
	Upper    []float64         `doc:"upper,required" about:"The highest total of each class but the last, ascending: 5 and then 6 do not both belong to one class."`
	Labels   []document.String `doc:"labels,required" about:"The classes, from the most supinated; one more than upper."`
	Position document.Position `doc:"-"`
}

// UnmarshalDocument reads the word adult or a map.
func (b *PostureBoundaries) UnmarshalDocument(n *document.Node) error {
	b.Position = n.Position
	if n.Kind != document.Map {
		if err := oneWord(n, "adult", "a map with upper and labels"); err != nil {
			return err
		}
		b.Adult = true
		return nil
	}
	var raw postureBoundaries
	err := document.Decode(n, &raw)
	b.Upper, b.Labels = raw.Upper, raw.Labels
	return err
}

// DocumentSchema is the schema of the word or the map.
func (PostureBoundaries) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"const": "adult"}, document.Schema(postureBoundaries{})}}
}

// oneWord refuses what is not the word.
func oneWord(n *document.Node, word, or string) error {
	if n.Kind != document.Text || n.Text != word {
		return n.ErrorNear(document.Nearest(n.Text, []string{word}), "found %q, expected %s, or %s", n.Text, word, or)
	}
	return nil
}

// FootOfChild chooses or joins two feet.
type FootOfChild struct {
	InstrumentHead
	Right    document.String `doc:"right,required" about:"A number of the right foot."`
	Left     document.String `doc:"left,required" about:"The same of the left foot, in the same unit."`
	Choose   string          `doc:"choose,required" enum:"larger|mean|right|left|affected" about:"larger: of a foot posture index the more pronated foot, of an arch index the flatter one; mean; right; left; or affected, the foot that a variable names. larger and mean are missing where one foot is."`
	Affected *AffectedFoot   `doc:"affected" about:"The variable that names the affected foot, with choose: affected."`
}

// AffectedFoot says which variable names the affected foot.
type AffectedFoot struct {
	Variable document.String   `doc:"variable,required" about:"A variable with categories."`
	Right    document.String   `doc:"right,required" about:"Its word for the right foot."`
	Left     document.String   `doc:"left,required" about:"Its word for the left foot. Where it has another word, such as both, there is no value."`
	Position document.Position `doc:"-"`
}

// ArchIndex divides areas of a footprint.
type ArchIndex struct {
	InstrumentHead
	Forefoot document.String `doc:"forefoot,required" about:"Area of the front third of the footprint without toes."`
	Midfoot  document.String `doc:"midfoot,required" about:"Area of the middle third, in the same unit."`
	Heel     document.String `doc:"heel,required" about:"Area of the rear third, in the same unit."`
}

// ArchClass puts an arch index into a class.
type ArchClass struct {
	InstrumentHead
	Index      document.String `doc:"index,required" about:"The arch index, 0 to 1."`
	Boundaries ArchBoundaries  `doc:"boundaries,required" about:"cavanagh-rodgers, the quartiles 0.21 and 0.26, or a map of the study's own with high and flat. There is no default."`
}

// ArchBoundaries are published quartiles or the study's own.
type ArchBoundaries struct {
	Cavanagh   bool
	High, Flat float64
	Position   document.Position
}

type archBoundaries struct {
	High     float64           `doc:"high,required" above:"0" below:"1" about:"The highest index of a high arch."`
	Flat     float64           `doc:"flat,required" above:"0" below:"1" about:"The lowest index of a flat arch."`
	Position document.Position `doc:"-"`
}

const cavanaghRodgers = "cavanagh-rodgers"

// UnmarshalDocument reads the word cavanagh-rodgers or a map.
func (b *ArchBoundaries) UnmarshalDocument(n *document.Node) error {
	b.Position = n.Position
	if n.Kind != document.Map {
		if err := oneWord(n, cavanaghRodgers, "a map with high and flat"); err != nil {
			return err
		}
		b.Cavanagh = true
		return nil
	}
	var raw archBoundaries
	err := document.Decode(n, &raw)
	b.High, b.Flat = raw.High, raw.Flat
	return err
}

// DocumentSchema is the schema of the word or the map.
func (ArchBoundaries) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"const": cavanaghRodgers}, document.Schema(archBoundaries{})}}
}

// NavicularDrop subtracts heights of the navicular.
type NavicularDrop struct {
	InstrumentHead
	Sitting  document.String `doc:"sitting,required" about:"Height of the navicular in the sitting child, in mm."`
	Standing document.String `doc:"standing,required" about:"Height of the navicular in the standing child, in mm."`
}

// NavicularDropAbove compares a drop with a threshold.
type NavicularDropAbove struct {
	InstrumentHead
	Drop      document.String `doc:"drop,required" about:"The navicular drop in mm."`
	Threshold float64         `doc:"threshold,required" min:"0" about:"The highest drop in mm that is not excessive. There is no default."`
}

// RearfootAngle turns an angle's sign so that valgus is positive.
type RearfootAngle struct {
	InstrumentHead
	Angle    document.String `doc:"angle,required" about:"The angle in degrees."`
	Positive string          `doc:"positive,required" enum:"valgus|varus" about:"What a positive angle of the data is. There is no default: papers differ."`
}

// PainScore checks the scores of one scale.
type PainScore struct {
	InstrumentHead
	Score    document.String `doc:"score,required" about:"The score, or the number of the face."`
	Scale    string          `doc:"scale,required" enum:"vas|nrs|faces" about:"vas: 0 to 100 mm; nrs: 0 to 10, whole; faces: the revised faces pain scale, 0, 2, 4, 6, 8, 10. An expression that names variables of two scales is refused."`
	Recorded string          `doc:"recorded" enum:"score|face" about:"With scale faces: score (default), or face where the data have the number of the face, 1 to 6."`
}

// OxfordScore scores one domain of one form.
type OxfordScore struct {
	InstrumentHead
	Form    string            `doc:"form,required" enum:"child|parent" about:"Whose answers these are. An expression that names scores of both forms is refused."`
	Domain  string            `doc:"domain,required" enum:"physical|school_play|emotional|footwear" about:"The domain, of 6, 4, 4 and 1 items."`
	Items   []document.String `doc:"items,required" about:"The items, each 0 to 4 with 4 as never a problem."`
	Missing string            `doc:"missing" enum:"none|half" about:"none (default): no score where an item is missing; half: where at least half are answered, the percentage over those."`
}

// MaturityOffset predicts the years from peak height velocity.
type MaturityOffset struct {
	InstrumentHead
	Equation      string           `doc:"equation,required" enum:"mirwald-2002|moore-2015|moore-2015-sitting" about:"The equation; moore-2015-sitting has sitting height in boys, and height in girls as moore-2015 has."`
	Sex           SexVariable      `doc:"sex,required" about:"The variable of sex and its words."`
	Age           document.String  `doc:"age,required" about:"Age, in years, months or days."`
	Height        *document.String `doc:"height" about:"Height in cm."`
	SittingHeight *document.String `doc:"sitting_height" about:"Sitting height in cm, for mirwald-2002 and moore-2015-sitting."`
	Weight        *document.String `doc:"weight" about:"Weight in kg, for mirwald-2002."`
	Give          string           `doc:"give" enum:"offset|age-at-peak" about:"offset (default), or age-at-peak: age less offset, the age at peak height velocity."`
}

// SexVariable says how the sexes are coded.
type SexVariable struct {
	Variable document.String   `doc:"variable,required" about:"A variable with categories."`
	Boys     document.String   `doc:"boys,required" about:"Its word for boys."`
	Girls    document.String   `doc:"girls,required" about:"Its word for girls."`
	Position document.Position `doc:"-"`
}

// BMIForAge compares body mass index with a reference.
type BMIForAge struct {
	InstrumentHead
	Reference GrowthReference `doc:"reference,required" about:"cdc-2000, which the program has, or a map with a table of the study folder. There is no default."`
	Tails     string          `doc:"tails,required" enum:"none|who|cdc" about:"none: the formula alone; who: scores beyond 3 and -3 measured in the distance from the second to the third standard deviation; cdc: the extended method above the 95th percentile. There is no default."`
	Sex       SexVariable     `doc:"sex,required" about:"The variable of sex and its words."`
	Age       document.String `doc:"age,required" about:"Age, in years, months or days."`
	BMI       document.String `doc:"bmi,required" about:"Body mass index in kg/m2."`
	Give      string          `doc:"give" enum:"z|percentile" about:"z (default) or percentile."`
}

// A GrowthReference is a reference that the program has or a table of the study.
type GrowthReference struct {
	CDC        bool
	Parameters *document.String
	Source     string
	Boys       string
	Girls      string
	Position   document.Position

	// Table is the content of the file that Parameters names, once read.
	Table []byte
}

type growthReference struct {
	Parameters document.String   `doc:"parameters,required" about:"A file in comma-separated values with the columns sex, age_months, L, M and S, relative to the plan."`
	Source     string            `doc:"source,required" about:"Where the table is from, for the methods."`
	Boys       string            `doc:"boys,required" about:"The table's word for boys."`
	Girls      string            `doc:"girls,required" about:"The table's word for girls."`
	Position   document.Position `doc:"-"`
}

const cdc2000 = "cdc-2000"

// UnmarshalDocument reads the word cdc-2000 or a map.
func (g *GrowthReference) UnmarshalDocument(n *document.Node) error {
	g.Position = n.Position
	if n.Kind != document.Map {
		if err := oneWord(n, cdc2000, "a map with parameters and source"); err != nil {
			return err
		}
		g.CDC = true
		return nil
	}
	var raw growthReference
	err := document.Decode(n, &raw)
	g.Parameters, g.Source, g.Boys, g.Girls = &raw.Parameters, raw.Source, raw.Boys, raw.Girls
	return err
}

// DocumentSchema is the schema of the word or the map.
func (GrowthReference) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"const": cdc2000}, document.Schema(growthReference{})}}
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
