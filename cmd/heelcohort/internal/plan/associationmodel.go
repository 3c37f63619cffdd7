package plan

import "heelcohort/codebook/document"

// AssociationModel says how the outcome of an association is modelled.
type AssociationModel struct {
	Family   string                              `doc:"family" enum:"logistic|firth|modified-poisson|log-binomial|marginal|conditional|proportional-odds|linear" about:"logistic (default): odds ratios; firth: penalised, with profile limits, for few events and separation; modified-poisson: risk ratios, with robust errors; log-binomial: risk ratios by maximum likelihood, refused where a risk reaches 1; marginal: odds ratios of the population by generalised estimating equations, with cluster; conditional: odds ratios within matched sets, with sets. Of an outcome with ordered categories proportional-odds: the odds ratio of a higher category; of a number linear: differences of means."`
	Sets     *document.String                    `doc:"sets" about:"Of family conditional: the variable that names the matched sets."`
	Working  string                              `doc:"working" enum:"exchangeable|independence" about:"Of family marginal: the working correlation within clusters; exchangeable unless written."`
	Errors   *document.String                    `doc:"errors" enum:"CR0|CR1|CR1S|CR2|CR3|bias-reduced" about:"With cluster: CR0 uncorrected, CR1 (default) times G/(G-1), CR1S also times (N-1)/(N-p), CR2 bias-reduced, CR3 jackknife-type. Of family marginal CR0 (default) or bias-reduced, for few clusters."`
	Limits   *document.String                    `doc:"limits" enum:"normal|clusters|satterthwaite|profile|score" about:"With cluster: the distribution of limits and P, normal (default), clusters (t on clusters less coefficients) or satterthwaite. Of family logistic without cluster: profile, limits of the profile likelihood with P of the likelihood ratio, or score, with P of the score test."`
	Spline   document.Ordered[Spline]            `doc:"spline" about:"Numbers among the exposure and adjust that enter as natural cubic splines."`
	Interact document.OneOrMore[document.String] `doc:"interact" about:"Variables of adjust whose interaction with the exposure is in the model and tested."`
	Marginal bool                                `doc:"marginal" about:"true: risks were everybody at each level of the exposure, their ratios and differences, standardised over the rows of the model; of an outcome that is yes or no."`
	Position document.Position                   `doc:"-"`
}
