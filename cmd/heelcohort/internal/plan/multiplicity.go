package plan

import "heelcohort/codebook/document"

// A Multiplicity is an analysis of kind multiplicity.
type Multiplicity struct {
	Head
	Rows   document.OneOrMore[document.String] `doc:"rows,required" about:"The tests of the family: ids of result rows of analyses above, in which * stands for any text without a slash, such as table-3/adjusted/arch:*/odds ratio."`
	Method string                              `doc:"method" enum:"holm|bonferroni|hochberg|benjamini-hochberg|benjamini-yekutieli" about:"holm (default) and bonferroni bound the chance of any false finding, whatever the dependence, hochberg under independence; benjamini-hochberg the share of false findings, benjamini-yekutieli whatever the dependence."`
}
