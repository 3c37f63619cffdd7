package plan

import "heelcohort/codebook/document"

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
