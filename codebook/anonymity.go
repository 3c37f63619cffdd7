package codebook

import (
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// The role of a variable that singles people out together with others.
const RoleQuasi = "quasi_identifier"

// DefaultAnonymity is the least number of people who share their
// quasi-identifiers where the codebook names none.
const DefaultAnonymity = 5

// An Anonymity says how many people must share their quasi-identifiers.
type Anonymity struct {
	AtLeast int       // 1 asks for nothing
	Bands   []Banding // numbers that are taken in bands; others are as they stand
}

// A Banding cuts a number into bands: below the first cut, from each cut to the
// next, from the last on.
type Banding struct {
	Variable string
	Cuts     []float64 // increasing
}

// rawAnonymity is written as a number, or as a map with bands.
type rawAnonymity struct {
	AtLeast int
	Bands   document.Ordered[[]float64]
}

type rawAnonymityMap struct {
	AtLeast *int                        `doc:"at_least" min:"1" about:"Least number of people who share their quasi-identifiers; 5 if it is left out, 1 asks for nothing."`
	Bands   document.Ordered[[]float64] `doc:"bands" about:"Cuts by which numbers are taken in bands, by variable."`
}

// UnmarshalDocument reads a number or a map.
func (a *rawAnonymity) UnmarshalDocument(n *document.Node) error {
	a.AtLeast = DefaultAnonymity
	if n.Kind != document.Map {
		if err := document.Decode(n, &a.AtLeast); err != nil {
			return err
		}
		if a.AtLeast < 1 {
			return n.Errorf("found %d, expected a number of people of at least 1", a.AtLeast)
		}
		return nil
	}
	var raw rawAnonymityMap
	err := document.Decode(n, &raw)
	if raw.AtLeast != nil {
		a.AtLeast = *raw.AtLeast
	}
	a.Bands = raw.Bands
	return err
}

// DocumentSchema is that of a number or a map.
func (rawAnonymity) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"type": "integer", "minimum": 1}, document.Schema(rawAnonymityMap{})}}
}

// anonymity checks what a table's codebook asks for.
func (c *checker) anonymity(r *Resource, raw *rawAnonymity) {
	if raw == nil {
		return
	}
	r.Anonymity = &Anonymity{AtLeast: raw.AtLeast}
	var quasi []string
	for _, f := range r.Schema.Fields {
		if f.Role == RoleQuasi {
			quasi = append(quasi, f.Name)
		}
	}
	for _, b := range raw.Bands {
		f := r.Schema.Field(b.Key)
		switch {
		case f == nil || f.Role != RoleQuasi:
			c.at(b.Position, document.Nearest(b.Key, quasi), "bands of %q, which is no variable of table %s with the role quasi_identifier", b.Key, r.Name)
		case f.Kind() != value.Number:
			c.at(b.Position, "", "bands of %s, which holds no numbers", b.Key)
		case len(b.Value) == 0:
			c.at(b.Position, "", "bands of %s are empty, expected at least one number", b.Key)
		}
		for i := 1; i < len(b.Value); i++ {
			if b.Value[i] <= b.Value[i-1] {
				c.at(b.Position, "", "bands of %s: %v does not come after %v", b.Key, b.Value[i], b.Value[i-1])
			}
		}
		r.Anonymity.Bands = append(r.Anonymity.Bands, Banding{b.Key, b.Value})
	}
}
