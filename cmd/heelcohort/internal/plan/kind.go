package plan

import (
	"heelcohort/codebook/document"
)

// A Head is what every analysis has.
type Head struct {
	ID       document.String   `doc:"id,required" about:"Name of the analysis in results and file names: lower-case letters, digits, hyphens."`
	Kind     string            `doc:"kind,required" about:"Kind of the analysis."`
	Title    string            `doc:"title" about:"Title above the table."`
	Position document.Position `doc:"-"`
}

// Common is the part that every analysis has.
func (h *Head) Common() *Head { return h }

// An Analysis is one entry of the plan: *Describe, *Incidence, *Proportion,
// *Association, *Paired, *TimeToEvent, *Recurrence, *Burden, *Change, *Agreement or
// *Multiplicity.
type Analysis interface{ Common() *Head }

// A Kind is one kind of analysis.
type Kind struct {
	Name string
	Doc  string
	New  func() Analysis
}

// Kinds lists the kinds of analysis, in the order of their documentation.
func Kinds() []Kind {
	return []Kind{
		{"describe", "Variables of a table by group: n, percent, mean, standard deviation, quartiles, missing values by code.", func() Analysis { return new(Describe) }},
		{"incidence", "Events per person-time by up to two variables: rates, ratios and differences with limits, tests, pooled over strata, standardised.", func() Analysis { return new(Incidence) }},
		{"proportion", "Cumulative incidence or prevalence: the share with a condition, over all and by group, with limits, risk differences and risk ratios, missing values by code.", func() Analysis { return new(Proportion) }},
		{"association", "A yes-or-no outcome by an exposure: odds ratio, risk ratio, risk difference, tests, adjusted odds ratio.", func() Analysis { return new(Association) }},
		{"paired", "A yes-or-no outcome of the two of a pair, such as the heels of a child: both shares, their difference and ratio, the odds ratio of the discordant pairs, McNemar's test.", func() Analysis { return new(Paired) }},
		{"time-to-event", "Time from a start to an event: Kaplan-Meier curves, medians, log-rank test, Cox model.", func() Analysis { return new(TimeToEvent) }},
		{"recurrence", "Events that recur: mean cumulative count with a band, its comparison between groups, first against recurrent rates, children by number of spells.", func() Analysis { return new(Recurrence) }},
		{"burden", "Days lost per person-time by up to two variables, with limits by a bootstrap over children, and episodes by severity.", func() Analysis { return new(Burden) }},
		{"change", "A number over the visits of a subject, such as pain or a questionnaire: means and change from a baseline by group, differences of change by a marginal model, the share that reach a change and the time until then.", func() Analysis { return new(Change) }},
		{"agreement", "Two or more raters of the same subjects: kappa of categories, intraclass correlation and limits of agreement of numbers.", func() Analysis { return new(Agreement) }},
		{"multiplicity", "P values of a declared family of tests, adjusted for their number.", func() Analysis { return new(Multiplicity) }},
	}
}

// Analyses are the entries of a plan, each of the kind it names.
type Analyses []Analysis

// UnmarshalDocument reads a list of analyses.
func (a *Analyses) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.List {
		return n.Errorf("found %v, expected a list of analyses", n.Kind)
	}
	var faults []error
	for _, item := range n.Items {
		one, err := decodeAnalysis(item)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		*a = append(*a, one)
	}
	return document.Join(faults...)
}

func decodeAnalysis(n *document.Node) (Analysis, error) {
	if n.Kind != document.Map {
		return nil, n.Errorf("found %v, expected an analysis with id and kind", n.Kind)
	}
	kind := n.Get("kind")
	if kind == nil {
		return nil, n.Errorf("an analysis has no kind, expected one of %s", kindNames())
	}
	for _, k := range Kinds() {
		if kind.Kind == document.Text && kind.Text == k.Name {
			a := k.New()
			return a, document.Decode(n, a)
		}
	}
	names := make([]string, 0, len(Kinds()))
	for _, k := range Kinds() {
		names = append(names, k.Name)
	}
	return nil, kind.ErrorNear(document.Nearest(kind.Text, names), "unknown kind %q, expected one of %s", kind.Text, kindNames())
}

func kindNames() string {
	text := ""
	for i, k := range Kinds() {
		if i > 0 {
			text += ", "
		}
		text += k.Name
	}
	return text
}

// DocumentSchema is the schema of a list whose items are each of one kind.
func (Analyses) DocumentSchema() map[string]any {
	var kinds []any
	for _, k := range Kinds() {
		schema := document.Schema(k.New())
		delete(schema, "$schema")
		schema["title"] = k.Name
		schema["description"] = k.Doc
		properties := schema["properties"].(map[string]any)
		properties["kind"] = map[string]any{"const": k.Name}
		kinds = append(kinds, schema)
	}
	return map[string]any{"type": "array", "minItems": 1, "items": map[string]any{"oneOf": kinds}}
}
