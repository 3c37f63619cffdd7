package plan

import "heelcohort/codebook/document"

// A Change is an analysis of kind change.
type Change struct {
	Head
	Table     document.String                     `doc:"table,required" about:"The table with one row a visit."`
	Value     document.String                     `doc:"value,required" about:"The number that is followed: one scale, one form."`
	Subject   document.OneOrMore[document.String] `doc:"subject,required" about:"The variables that together name what is followed over visits, such as the child, the episode, or child and heel."`
	Cluster   *document.String                    `doc:"cluster" about:"Variable of the clusters, such as the child of a heel: errors and limits are robust to dependence within; each subject by itself unless written."`
	Among     *Expression                         `doc:"among" about:"Condition of the visits that count; all unless written."`
	Day       Expression                          `doc:"day,required" about:"Expression of the day of the visit, from which windows count, such as visit_day - onset."`
	Windows   []VisitWindow                       `doc:"windows" about:"Spans of days that hold one visit each, in order, the baseline first; in place of visit."`
	Visit     *document.String                    `doc:"visit" about:"Variable whose levels, in their order, are the planned visits; in place of windows."`
	Baseline  Baseline                            `doc:"baseline,required" about:"What changes are from: the first window, or a level (levels before it are left out), or a value that stands outside the visits."`
	By        *document.String                    `doc:"by" about:"The grouping variable, the same at all visits of a subject."`
	Reference *document.String                    `doc:"reference" about:"The group that the others are compared with; the first unless written."`
	Adjust    document.OneOrMore[document.String] `doc:"adjust" about:"Variables of the model beside group, visit and the value at baseline, as they stand at the baseline visit, or at the first visit where the baseline stands outside them."`
	Model     *ChangeModel                        `doc:"model" about:"How the model of the visits after the baseline is fitted."`
	Threshold *Threshold                          `doc:"threshold" about:"A change or a value that counts as reached: the share of subjects at each visit, and the time until it was first seen."`
}

// A VisitWindow is a span of days that holds one visit of a subject.
type VisitWindow struct {
	Label    document.String   `doc:"label,required" about:"Its name in tables and figures."`
	From     float64           `doc:"from,required" about:"Its first day."`
	To       float64           `doc:"to,required" about:"Its last day."`
	Target   *float64          `doc:"target" about:"The day that the visit was planned for: of several visits those with a value come first, then the nearest, of two as near the earlier; the middle unless written."`
	Position document.Position `doc:"-"`
}

// A Baseline is the name of a visit, or a value recorded outside the visits, such
// as pain at the onset.
type Baseline struct {
	Visit    document.String
	Value    *Expression
	Day      *Expression
	Label    string
	Position document.Position
}

type baseline struct {
	Value    Expression        `doc:"value,required" about:"Expression of the value at the baseline, the same at all visits of a subject, of the scale and unit of what is followed; in place of a visit."`
	Day      *Expression       `doc:"day" about:"Expression of its day, as day counts; 0 unless written."`
	Label    string            `doc:"label" about:"Its name in tables and figures; Baseline unless written."`
	Position document.Position `doc:"-"`
}

// UnmarshalDocument reads a name or a map.
func (b *Baseline) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.Map {
		var visit document.String
		if err := document.Decode(n, &visit); err != nil {
			return err
		}
		*b = Baseline{Visit: visit, Position: visit.Position}
		return nil
	}
	var raw baseline
	if err := document.Decode(n, &raw); err != nil {
		return err
	}
	*b = Baseline{Value: &raw.Value, Day: raw.Day, Label: raw.Label, Position: raw.Position}
	return nil
}

// DocumentSchema is the schema of a name or a map.
func (Baseline) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"type": "string"}, document.Schema(baseline{})}}
}

// A ChangeModel says how the marginal linear model of a change is fitted.
type ChangeModel struct {
	Reference document.Ordered[document.String] `doc:"reference" about:"Reference levels of variables of adjust; the first level unless written."`
	Working   string                            `doc:"working" enum:"exchangeable|independence" about:"Working correlation of the values of one cluster; exchangeable unless written."`
	Errors    string                            `doc:"errors" enum:"CR0|bias-reduced" about:"Robust errors: CR0 (default), or bias-reduced, for few clusters."`
	Limits    string                            `doc:"limits" enum:"normal|clusters" about:"Distribution of limits and P: normal (default), or clusters, t on the clusters less the coefficients."`
	Position  document.Position                 `doc:"-"`
}

// A Threshold is what counts as reached: exactly one of change, percent and
// value.
type Threshold struct {
	Direction  string            `doc:"direction,required" enum:"lower|higher" about:"Whether lower values or higher ones count."`
	Change     *float64          `doc:"change" above:"0" about:"A change from the baseline of at least so many units."`
	Percent    *float64          `doc:"percent" above:"0" about:"A change of at least so many percent of the value at baseline."`
	Value      *float64          `doc:"value" about:"A value at or beyond this one, whatever the baseline."`
	At         []float64         `doc:"at" about:"Days after the baseline at which the curves of the time are read off."`
	Seed       *int              `doc:"seed" min:"0" about:"Seed of the resamples behind the limits of the interval-censored curve; 1 unless written."`
	Replicates *int              `doc:"replicates" min:"100" max:"100000" about:"Resamples of the clusters, or subjects; 500 unless written."`
	Position   document.Position `doc:"-"`
}
