package plan

import "heelcohort/codebook/document"

// An Incidence is an analysis of kind incidence.
type Incidence struct {
	Head
	Events     Events                            `doc:"events,required" about:"The events that are counted."`
	AtRisk     AtRisk                            `doc:"at_risk,required" about:"The person-time."`
	Episodes   string                            `doc:"episodes" enum:"first|all" about:"first (default where events have days): a child is at risk until its first event, and not at all after one before its first interval. all: every event counts and the time after it too."`
	CurrentAge *CurrentAge                       `doc:"current_age" about:"Age at the time, for which person-time is split at birthdays."`
	By         document.OneOrMore[Grouping]      `doc:"by" about:"Up to two variables."`
	Reference  document.Ordered[document.String] `doc:"reference" about:"The level that each variable's other levels are compared with."`
	Per        *float64                          `doc:"per" above:"0" about:"Person-time that rates are expressed per; 1 unless written."`
	Unit       string                            `doc:"unit" about:"Word for the unit of person-time, such as hours."`
	Model      *RateModel                        `doc:"model" about:"A log-linear model of the rate."`
	Figure     *RateFigure                       `doc:"figure" about:"The figure of the rates: its word, or a map that begins with draw; rates unless written."`
}

// Events says what is counted: the rows of a table that meet a condition, at
// their day, or the numbers in a column.
type Events struct {
	Table    document.String   `doc:"table,required" about:"The table."`
	Day      *Expression       `doc:"day" about:"Expression of the study day of the event."`
	When     *Expression       `doc:"when" about:"Condition of the rows that are events; all unless written."`
	Count    *Expression       `doc:"count" about:"Number of events of a row, for tables of counts; excludes day and when."`
	Position document.Position `doc:"-"`
}

// AtRisk says what the person-time is: intervals of study days with an amount,
// intervals whose days count, or amounts alone.
type AtRisk struct {
	Table    document.String   `doc:"table,required" about:"The table."`
	Amount   *Expression       `doc:"amount" about:"Amount of person-time of the row (hours, sessions); the days of the interval unless written."`
	From     *Expression       `doc:"from" about:"First study day of the row's interval."`
	To       *Expression       `doc:"to" about:"Study day on which it ends, itself not included."`
	Position document.Position `doc:"-"`
}

// CurrentAge defines a grouping by age at the time.
type CurrentAge struct {
	Name     document.String   `doc:"name" about:"Name of the variable; current_age unless written."`
	Label    string            `doc:"label" about:"Its label."`
	AtZero   Expression        `doc:"at_zero,required" about:"The participants' age in years on study day 0."`
	Bands    []float64         `doc:"bands,required" about:"Ascending bounds of the age bands in years, each included in the band above it."`
	Position document.Position `doc:"-"`
}

// A Grouping is one variable of by: a name, or the names under which events
// and person-time have it.
type Grouping struct {
	Name     document.String
	Events   document.String
	AtRisk   document.String
	Position document.Position
}

type grouping struct {
	Name     document.String   `doc:"name,required" about:"Name of the grouping."`
	Label    string            `doc:"label" about:"Its label."`
	Events   document.String   `doc:"events" about:"The variable of the events' table; the name unless written."`
	AtRisk   document.String   `doc:"at_risk" about:"The variable of the person-time's table; the name unless written."`
	Position document.Position `doc:"-"`
}

// UnmarshalDocument reads a name or a map.
func (g *Grouping) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.Map {
		var name document.String
		if err := document.Decode(n, &name); err != nil {
			return err
		}
		*g = Grouping{Name: name, Events: name, AtRisk: name, Position: name.Position}
		return nil
	}
	var raw grouping
	if err := document.Decode(n, &raw); err != nil {
		return err
	}
	*g = Grouping{Name: raw.Name, Events: raw.Events, AtRisk: raw.AtRisk, Position: raw.Position}
	if g.Events.Value == "" {
		g.Events = g.Name
	}
	if g.AtRisk.Value == "" {
		g.AtRisk = g.Name
	}
	return nil
}

// DocumentSchema is the schema of a name or a map.
func (Grouping) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"type": "string"}, document.Schema(grouping{})}}
}

// A RateModel is a log-linear (Poisson) model of rates.
type RateModel struct {
	Terms      []document.String                 `doc:"terms,required" about:"Variables of the model, of those of by and of the person-time's table."`
	Reference  document.Ordered[document.String] `doc:"reference" about:"Reference levels; the first level unless written."`
	Dispersion string                            `doc:"dispersion" enum:"none|pearson" about:"none (default), or pearson: errors scaled by Pearson's chi-square over its degrees of freedom."`
	Cluster    *document.String                  `doc:"cluster" about:"Variable of the clusters, for robust errors."`
	Position   document.Position                 `doc:"-"`
}
