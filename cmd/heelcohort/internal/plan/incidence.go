package plan

import "heelcohort/codebook/document"

// An Incidence is an analysis of kind incidence.
type Incidence struct {
	Head
	Events     Events                            `doc:"events,required" about:"The events that are counted."`
	AtRisk     AtRisk                            `doc:"at_risk,required" about:"The person-time."`
	Episodes   string                            `doc:"episodes" enum:"first|all" about:"first (default where events have days): a child is at risk until its first event, and not at all after one before its first interval. all: every event counts and the time after it too."`
	Spells     *Spells                           `doc:"spells" about:"When episodes end: time within them, and within the gap after them, is not at risk. Where it is not written they have no length."`
	Window     *Window                           `doc:"window" about:"The study days that are studied; all unless written."`
	Calendar   *Calendar                         `doc:"calendar" about:"Calendar bands, such as seasons, at whose starts person-time is split."`
	CurrentAge *CurrentAge                       `doc:"current_age" about:"Age at the time, for which person-time is split at birthdays."`
	By         document.OneOrMore[Grouping]      `doc:"by" about:"Up to two variables."`
	Reference  document.Ordered[document.String] `doc:"reference" about:"The level that each variable's other levels are compared with."`
	Per        *float64                          `doc:"per" above:"0" about:"Person-time that rates are expressed per; 1 unless written."`
	Unit       string                            `doc:"unit" about:"Word for the unit of person-time, such as hours."`
	Model      *RateModel                        `doc:"model" about:"A log-linear model of the rate."`

	Limits      *RateLimits                                 `doc:"limits" about:"How the limits are made."`
	Differences bool                                        `doc:"differences" about:"true: rate differences beside the ratios."`
	Tests       document.OneOrMore[document.String]         `doc:"tests" enum:"homogeneity|trend" about:"Tests of the levels of each variable of by: homogeneity, that all have one rate; trend, that the rate does not rise or fall with the score."`
	Scores      document.Ordered[document.Ordered[float64]] `doc:"scores" about:"For trend, the score of every level by variable; 1, 2, 3 and so on in order of the categories unless written."`
	Stratify    *document.String                            `doc:"stratify" about:"A variable of by: ratios and differences of the other one are pooled over its levels (Mantel-Haenszel) and tested for homogeneity."`
	Standardise *Standardise                                `doc:"standardise" about:"Standardised rates and ratios."`
	Figure      *RateFigure                                 `doc:"figure" about:"The figure of the rates: its word, or a map that begins with draw; rates unless written."`
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
	Label    string
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
	*g = Grouping(raw)
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
