package plan

import "heelcohort/codebook/document"

// An Association is an analysis of kind association.
type Association struct {
	Head
	Table             *document.String                    `doc:"table" about:"The table; the participants' unless written."`
	Outcome           document.String                     `doc:"outcome,required" about:"A yes-or-no variable. One with categories has its table and tests, and of an order the model proportional-odds; a number the model linear."`
	Exposure          document.String                     `doc:"exposure,required" about:"A category, a yes-or-no variable or a number. A number is modelled only."`
	Reference         *document.String                    `doc:"reference" about:"The exposure's level that the others are compared with; the first unless written."`
	Adjust            document.OneOrMore[document.String] `doc:"adjust" about:"Variables of the adjusted model beside the exposure."`
	Cluster           *document.String                    `doc:"cluster" about:"Variable of the clusters, for robust errors of the model."`
	Model             *AssociationModel                   `doc:"model" about:"How the outcome is modelled; a logistic regression with Wald limits unless written."`
	Limits            *AssociationLimits                  `doc:"limits" about:"How the limits of crude risks and of what compares them are made."`
	Outcomes          string                              `doc:"outcomes" enum:"risk|prevalence" about:"Word for the share with the outcome: risk (default), or prevalence where the outcome is a state at one time; ratios and differences are named by it."`
	Tests             document.OneOrMore[document.String] `doc:"tests" enum:"chi-square|likelihood-ratio|fisher|trend" about:"Tests of the crude table; chi-square and fisher unless written. fisher is exact for tables of any size, and where one is too large an estimate from random tables that says so. trend: Cochran-Armitage, over the scores; of an outcome with ordered categories the linear-by-linear association."`
	Scores            document.Ordered[float64]           `doc:"scores" about:"For trend, the score of every level of the exposure; 1, 2, 3 and so on in order of the categories unless written."`
	Stratify          document.OneOrMore[document.String] `doc:"stratify" about:"Variables with levels, such as site: odds ratio, risk ratio and risk difference are pooled over their combinations (Mantel-Haenszel) and tested for being one in all; of an outcome with categories the tests are stratified."`
	Exact             bool                                `doc:"exact" about:"true: with stratify, also the exact common odds ratio and the exact test that one holds in all strata, for few children a stratum."`
	Unmeasured        string                              `doc:"unmeasured" enum:"rare|common" about:"Asks how strong an unmeasured confounder must be to explain the odds ratios away; rare or common (15% or more) is the outcome."`
	Misclassification *Misclassification                  `doc:"misclassification" about:"Believed errors of the rating of the exposure, propagated to the crude odds ratio."`
	NegativeControl   *document.String                    `doc:"negative_control" about:"A yes-or-no variable that the exposure cannot cause: the same model is fitted for it, and an association there speaks of bias."`
	Impute            *Imputation                         `doc:"impute" about:"As a sensitivity analysis, the model again after multiple imputation of what is missing of its variables."`
	Seed              *int                                `doc:"seed" min:"0" about:"Seed of the random tables of fisher; 1 unless written."`
}

// AssociationLimits says how the limits of an association's crude table are
// made.
type AssociationLimits struct {
	RiskLimits
	Odds string `doc:"odds" enum:"woolf|score|exact|mid-p" about:"Limits of odds ratios: woolf (default), on the log scale, with the exact conditional ones where a count is zero; score; exact or mid-p, conditional on the margins."`
}
