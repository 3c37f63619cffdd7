package plan

import "heelcohort/codebook/document"

// An Agreement is an analysis of kind agreement.
type Agreement struct {
	Head
	Table      *document.String                    `doc:"table" about:"The table; the participants' unless written."`
	Ratings    document.OneOrMore[document.String] `doc:"ratings" about:"Two or more variables of a row, each the ratings by one rater."`
	Raters     *Raters                             `doc:"raters" about:"Ratings in rows of their own, in place of ratings."`
	Weights    string                              `doc:"weights" enum:"unweighted|linear|quadratic" about:"Of categories: what a disagreement counts in the kappa of two raters; unweighted (default), or linear or quadratic for ordered categories."`
	Model      string                              `doc:"model" enum:"one-way|two-way-agreement|two-way-consistency" about:"Of numbers: the intraclass correlation that is meant; there is no default."`
	Coverage   *float64                            `doc:"coverage" above:"0" about:"Of numbers: share of the differences between the limits of agreement, below 1; 0.95 unless written."`
	Limits     string                              `doc:"limits" enum:"exact|approximate" about:"Of numbers: confidence limits of the limits of agreement, exact (default, noncentral t) or approximate (standard error √(3s²/n))."`
	Cluster    *document.String                    `doc:"cluster" about:"Variable of the clusters, such as the child of a heel: limits are by a bootstrap over clusters."`
	Points     bool                                `doc:"points" about:"Whether the figure and the results hold a point for each pair of ratings, which are rows of participants; counts in cells unless true."`
	Few        *int                                `doc:"few" min:"2" about:"Pairs below which a cell of the figure is left out; 5 unless written."`
	Seed       *int                                `doc:"seed" min:"0" about:"Seed of the bootstrap; 1 unless written."`
	Replicates *int                                `doc:"replicates" min:"100" max:"100000" about:"Resamples of the bootstrap; 2000 unless written."`
}

// Raters say where ratings in rows of their own stand: one row a subject and
// rater.
type Raters struct {
	Variable document.String                     `doc:"variable,required" about:"The variable that names the rater."`
	Subject  document.OneOrMore[document.String] `doc:"subject,required" about:"The variables that together name what was rated, such as child and day."`
	Value    document.String                     `doc:"value,required" about:"The variable with the rating."`
	Position document.Position                   `doc:"-"`
}
