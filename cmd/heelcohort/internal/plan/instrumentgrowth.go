package plan

import "heelcohort/codebook/document"

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
