package plan

import "heelcohort/codebook/document"

// A Proportion is an analysis of kind proportion.
type Proportion struct {
	Head
	Table      *document.String                    `doc:"table" about:"The table whose rows are counted; the participants' unless written."`
	Among      *Expression                         `doc:"among" about:"Condition of the rows that are counted, such as free of the condition at the start; all unless written."`
	Conditions document.OneOrMore[Condition]       `doc:"conditions,required" about:"The conditions whose share is estimated: yes-or-no variables, or names with an expression."`
	By         document.OneOrMore[document.String] `doc:"by" about:"Grouping variables, each taken by itself."`
	Reference  document.Ordered[document.String]   `doc:"reference" about:"The level that each variable's other levels are compared with, by risk difference and risk ratio."`
	Limits     *RiskLimits                         `doc:"limits" about:"How the limits are made."`
	Unit       string                              `doc:"unit" about:"Word for what is counted, such as children or heels; the table's name unless written."`
}

// RiskLimits says how the limits of proportions and of what compares them are
// made.
type RiskLimits struct {
	Proportion string            `doc:"proportion" enum:"wilson|exact|mid-p|agresti-coull|jeffreys|wilson-corrected|likelihood|wald|wald-corrected" about:"Limits of proportions; wilson unless written. wald and wald-corrected answer printed tables: they cover too little for few events."`
	Difference string            `doc:"difference" enum:"newcombe|score|mee|newcombe-corrected|wald" about:"Limits of risk differences: newcombe (default, untested), or score, with a test of no difference."`
	Ratio      string            `doc:"ratio" enum:"log|score" about:"Limits of risk ratios: log (default), symmetric on the log scale, or score, which bear a group without the outcome."`
	Position   document.Position `doc:"-"`
}

// A Condition is what is counted: a yes-or-no variable, or an expression with a
// name.
type Condition struct {
	Name     document.String
	Label    string
	When     *Expression
	Position document.Position
}

type condition struct {
	Name     document.String   `doc:"name,required" about:"Name of the condition in results."`
	Label    string            `doc:"label" about:"Its label in tables; the name unless written."`
	When     Expression        `doc:"when,required" about:"Expression that is true for rows with the condition."`
	Position document.Position `doc:"-"`
}

// UnmarshalDocument reads a name or a map.
func (c *Condition) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.Map {
		var name document.String
		if err := document.Decode(n, &name); err != nil {
			return err
		}
		*c = Condition{Name: name, Position: name.Position}
		return nil
	}
	var raw condition
	if err := document.Decode(n, &raw); err != nil {
		return err
	}
	*c = Condition{Name: raw.Name, Label: raw.Label, When: &raw.When, Position: raw.Position}
	return nil
}

// DocumentSchema is the schema of a name or a map.
func (Condition) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"type": "string"}, document.Schema(condition{})}}
}
