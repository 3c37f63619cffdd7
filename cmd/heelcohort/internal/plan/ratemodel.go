package plan

import "heelcohort/codebook/document"

// A RateModel is a log-linear model of rates.
type RateModel struct {
	Terms              []document.String                   `doc:"terms,required" about:"Variables of the model, of those of by and of the person-time's table."`
	Reference          document.Ordered[document.String]   `doc:"reference" about:"Reference levels; the first level unless written."`
	Family             *document.String                    `doc:"family" enum:"poisson|quasi-poisson|negative-binomial" about:"poisson (default); quasi-poisson: errors scaled by Pearson's chi-square over its degrees of freedom; negative-binomial: the variance is μ + αμ², with the cells of each child as rows where events have days."`
	Dispersion         string                              `doc:"dispersion" enum:"none|pearson" about:"none (default), or pearson: the same as family quasi-poisson."`
	Cluster            *document.String                    `doc:"cluster" about:"Variable of the clusters, for robust errors."`
	Errors             *document.String                    `doc:"errors" enum:"model|CR0|CR1|CR1S|CR2|CR3" about:"model (default without cluster): of the family. With cluster: CR0 uncorrected, CR1 (default) times G/(G-1), CR1S also times (N-1)/(N-p), CR2 bias-reduced, CR3 jackknife-type."`
	Limits             *document.String                    `doc:"limits" enum:"normal|clusters|satterthwaite" about:"Distribution of limits and p-values with cluster: normal (default), clusters: t on the number of clusters less that of coefficients, satterthwaite: t on degrees of freedom of each coefficient."`
	OverdispersionTest bool                                `doc:"overdispersion_test" about:"true: tests whether the counts vary more than Poisson's, with the cells of each child as rows where events have days."`
	Marginal           document.OneOrMore[document.String] `doc:"marginal" about:"Terms whose marginal (standardised) rates are given: everybody at the level, other terms as observed."`
	Spline             document.Ordered[Spline]            `doc:"spline" about:"Terms that enter as natural cubic splines: numbers of a table of counts, or current age, which then is a number."`
	CutAge             *float64                            `doc:"cut_age" above:"0" about:"Years that person-time is cut into for a spline of current age, whose age is the middle; 0.25 unless written."`
	Season             document.Ordered[Season]            `doc:"season" about:"Terms that enter as sine and cosine: numbers of a table of counts, such as a week; or, with at_zero, the point of the season at which person-time falls."`
	Position           document.Position                   `doc:"-"`
}

// A Spline says where the knots of a term are.
type Spline struct {
	Knots     *int              `doc:"knots" above:"2" about:"Number of knots, at quantiles from the least value to the largest; excludes at."`
	At        []float64         `doc:"at" about:"The knots, ascending; at least three."`
	Reference *float64          `doc:"reference" about:"Value that others are compared with; the middle knot unless written."`
	Position  document.Position `doc:"-"`
}

// A Season says how a term comes round.
type Season struct {
	Period   *float64          `doc:"period" above:"0" about:"Length of a cycle in the term's unit, days with at_zero; 365.25 unless written."`
	Pairs    *int              `doc:"pairs" above:"0" about:"Pairs of sine and cosine; 1 unless written."`
	AtZero   *Expression       `doc:"at_zero" about:"Where events have days: the participants' day of the cycle on study day 0. The term then is made by it and need not be in by."`
	Cut      *float64          `doc:"cut" above:"0" about:"With at_zero: days that person-time is cut into, each with the day of its middle; 7 unless written, and always a whole number of pieces a cycle."`
	Label    string            `doc:"label" about:"With at_zero: the term's label; its name unless written."`
	Position document.Position `doc:"-"`
}
