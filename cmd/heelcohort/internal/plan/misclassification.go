package plan

import "heelcohort/codebook/document"

// Misclassification says how well the exposure is believed to be rated. Level
// against reference is rated with errors; the beliefs hold for each level.
type Misclassification struct {
	Sensitivity Belief            `doc:"sensitivity,required" about:"Probability that who has the level is rated so."`
	Specificity Belief            `doc:"specificity,required" about:"Probability that who has the reference is rated so."`
	Others      *Classification   `doc:"others" about:"Where rating depends on the outcome: the beliefs for those without it; the ones above are then for those with it."`
	Correlation float64           `doc:"correlation" min:"-1" max:"1" about:"Correlation of the beliefs for those with and those without the outcome; 0 unless written. With others only."`
	Draws       *int              `doc:"draws" min:"1000" max:"1000000" about:"Draws; 20000 unless written."`
	Seed        *int              `doc:"seed" min:"0" about:"Seed of the draws; 1 unless written."`
	Position    document.Position `doc:"-"`
}

// Classification is one pair of beliefs.
type Classification struct {
	Sensitivity Belief            `doc:"sensitivity,required" about:"Probability that who has the level is rated so."`
	Specificity Belief            `doc:"specificity,required" about:"Probability that who has the reference is rated so."`
	Position    document.Position `doc:"-"`
}

// A Belief is a distribution of a probability: a number that is known, or one
// of the shapes.
type Belief struct {
	Known       *float64
	Uniform     []float64
	Triangular  []float64
	Trapezoidal []float64
	Beta        []float64
	Position    document.Position
}

type belief struct {
	Uniform     []float64         `doc:"uniform" about:"Least and largest."`
	Triangular  []float64         `doc:"triangular" about:"Least, likeliest, largest."`
	Trapezoidal []float64         `doc:"trapezoidal" about:"Least, the two ends of the likeliest, largest."`
	Beta        []float64         `doc:"beta" about:"The two parameters of a beta distribution."`
	Position    document.Position `doc:"-"`
}

// UnmarshalDocument reads a probability or a map with one shape.
func (b *Belief) UnmarshalDocument(n *document.Node) error {
	b.Position = n.Position
	if n.Kind == document.Number {
		var x float64
		if err := document.Decode(n, &x); err != nil {
			return err
		}
		if x < 0 || x > 1 {
			return n.Errorf("found %v, expected a probability from 0 to 1", x)
		}
		b.Known = &x
		return nil
	}
	var raw belief
	if err := document.Decode(n, &raw); err != nil {
		return err
	}
	shapes, numbers, want := 0, []float64(nil), 0
	for _, s := range []struct {
		given []float64
		n     int
	}{{raw.Uniform, 2}, {raw.Triangular, 3}, {raw.Trapezoidal, 4}, {raw.Beta, 2}} {
		if s.given != nil {
			shapes++
			numbers, want = s.given, s.n
		}
	}
	switch {
	case shapes != 1:
		return n.Errorf("a belief has %d shapes, expected one of uniform, triangular, trapezoidal and beta, or a probability", shapes)
	case len(numbers) != want:
		return n.Errorf("found %d numbers, expected %d", len(numbers), want)
	}
	for i, x := range numbers {
		switch {
		case raw.Beta != nil && !(x > 0):
			return n.Errorf("found %v, expected parameters above 0", x)
		case raw.Beta == nil && (x < 0 || x > 1):
			return n.Errorf("found %v, expected probabilities from 0 to 1", x)
		case raw.Beta == nil && i > 0 && x < numbers[i-1]:
			return n.Errorf("found %v after %v, expected ascending numbers", x, numbers[i-1])
		}
	}
	b.Uniform, b.Triangular, b.Trapezoidal, b.Beta = raw.Uniform, raw.Triangular, raw.Trapezoidal, raw.Beta
	return nil
}

// DocumentSchema is the schema of a probability or of a map with one shape.
func (Belief) DocumentSchema() map[string]any {
	one := document.Schema(belief{})
	one["minProperties"], one["maxProperties"] = 1, 1
	return map[string]any{"anyOf": []any{map[string]any{"type": "number", "minimum": 0, "maximum": 1}, one}}
}
