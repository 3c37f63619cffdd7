package plan

import "heelcohort/codebook/document"

// A Describe is an analysis of kind describe.
type Describe struct {
	Head
	Table     *document.String                    `doc:"table" about:"The table; the participants' unless written."`
	By        document.OneOrMore[document.String] `doc:"by" about:"The grouping variable, at most one."`
	Variables []document.String                   `doc:"variables,required" about:"The variables described, in order."`
}
