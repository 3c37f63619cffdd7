package plan

import "heelcohort/codebook/document"

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
