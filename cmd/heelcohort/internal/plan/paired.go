package plan

import "heelcohort/codebook/document"

// A Paired is an analysis of kind paired.
type Paired struct {
	Head
	Table  *document.String `doc:"table" about:"The table with one row a pair, such as a child with its two heels; the participants' unless written."`
	First  document.String  `doc:"first,required" about:"Whether the first of the pair has the outcome: a yes-or-no variable, derived with any where it stands in another table."`
	Second document.String  `doc:"second,required" about:"Whether the second has it."`
	Limits *PairedLimits    `doc:"limits" about:"How the limits are made."`
	Test   string           `doc:"test" enum:"exact|mid-p|chi-square|corrected" about:"McNemar's test: exact (default), mid-p, chi-square without correction, or corrected for continuity."`
	Unit   string           `doc:"unit" about:"Word for the pairs, such as children; the table's name unless written."`
}

// PairedLimits says how the limits of pairs are made.
type PairedLimits struct {
	Difference string            `doc:"difference" enum:"tango|newcombe|wald" about:"Limits of the difference of the shares: tango (default), score; newcombe, untested; wald, normal."`
	Odds       string            `doc:"odds" enum:"exact|mid-p" about:"Limits of the odds ratio of the discordant pairs: exact (default) or mid-p."`
	Proportion string            `doc:"proportion" enum:"wilson|exact|mid-p|agresti-coull|jeffreys|wilson-corrected|likelihood|wald|wald-corrected" about:"Limits of each share: wilson unless written."`
	Position   document.Position `doc:"-"`
}
