package plan

import "heelcohort/codebook/document"

// An Association is an analysis of kind association.
type Association struct {
	Head
	Table     *document.String                    `doc:"table" about:"The table; the participants' unless written."`
	Outcome   document.String                     `doc:"outcome,required" about:"A yes-or-no variable."`
	Exposure  document.String                     `doc:"exposure,required" about:"A category, a yes-or-no variable or a number. A number is modelled only."`
	Reference *document.String                    `doc:"reference" about:"The exposure's level that the others are compared with; the first unless written."`
	Adjust    document.OneOrMore[document.String] `doc:"adjust" about:"Variables of the adjusted model beside the exposure."`
	Cluster   *document.String                    `doc:"cluster" about:"Variable of the clusters, for robust errors of the model."`
	Limits    *RiskLimits                         `doc:"limits" about:"How the limits of crude risks, risk differences and risk ratios are made."`
}
