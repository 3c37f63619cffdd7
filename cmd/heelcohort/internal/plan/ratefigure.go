package plan

import (
	"slices"
	"strings"

	"heelcohort/codebook/document"
)

// RateFigures lists the words for the figure of rates.
var RateFigures = []string{"rates", "heat-map", "dots", "curve", "none"}

// A RateFigure says which figure an incidence analysis draws of its rates.
type RateFigure struct {
	Draw     string
	Few      *int     // nil unless written
	Axis     string   // "" unless written
	Width    *float64 // in millimetres; nil unless written
	Position document.Position
}

type rateFigure struct {
	Draw     string            `doc:"draw,required" enum:"rates|heat-map|dots|curve|none" about:"rates (default): rates with limits along the first variable of by, a series a level of the second. heat-map: a shaded cell with rate and number of events for each pair of levels of two variables. dots: rates with limits in rows, a panel a level of the second variable, the rate over all as a line. curve: over the bands of a variable, as steps with their limits as a band. none: no figure, of rate ratios neither."`
	Few      *int              `doc:"few" min:"0" about:"Of a heat map: cells with fewer events are hatched; 5 unless written."`
	Axis     string            `doc:"axis" enum:"log|linear" about:"Of dots: the axis of the rates; log unless written."`
	Width    *float64          `doc:"width" min:"50" max:"500" about:"Width of the figure of rates in millimetres: 84 is one column of a journal, 174 two; 174 unless written."`
	Position document.Position `doc:"-"`
}

// UnmarshalDocument reads a word or a map.
func (f *RateFigure) UnmarshalDocument(n *document.Node) error {
	if n.Kind == document.Text {
		if !slices.Contains(RateFigures, n.Text) {
			return n.ErrorNear(document.Nearest(n.Text, RateFigures), "found %q, expected one of %s", n.Text, strings.Join(RateFigures, ", "))
		}
		*f = RateFigure{Draw: n.Text, Position: n.Position}
		return nil
	}
	if n.Kind != document.Map {
		return n.Errorf("found %v, expected one of %s, or a map with draw", n.Kind, strings.Join(RateFigures, ", "))
	}
	var raw rateFigure
	if err := document.Decode(n, &raw); err != nil {
		return err
	}
	*f = RateFigure(raw)
	return nil
}

// DocumentSchema is the schema of a word or a map.
func (RateFigure) DocumentSchema() map[string]any {
	words := make([]any, len(RateFigures))
	for i, w := range RateFigures {
		words[i] = w
	}
	return map[string]any{"anyOf": []any{map[string]any{"type": "string", "enum": words}, document.Schema(rateFigure{})}}
}
