package plan

import "heelcohort/codebook/document"

// A TimeToEvent is an analysis of kind time-to-event.
type TimeToEvent struct {
	Head
	Table     *document.String                    `doc:"table" about:"The table; the participants' unless written."`
	Among     *Expression                         `doc:"among" about:"Condition of the rows that count, such as first spells; all unless written."`
	Together  *Together                           `doc:"together" about:"Rows that make one unit, such as both heels of a child's spell."`
	Start     *Expression                         `doc:"start" about:"Expression of the day the clock starts; 0 unless written."`
	Entry     *Expression                         `doc:"entry" about:"Expression of the day observation begins; the start unless written."`
	Event     EndPoint                            `doc:"event,required" about:"The event and its day."`
	Otherwise []OtherEvent                        `doc:"otherwise" about:"Other definitions of the event, such as return to training beside return to a match: the medians, the curve at the times of at and the model by each, beside those of the event."`
	Competing []CompetingEnd                      `doc:"competing" about:"Ends after which the event can no longer happen, such as giving up the sport: cumulative incidences are given, and compared by Gray's test."`
	By        *document.String                    `doc:"by" about:"The grouping variable."`
	Reference *document.String                    `doc:"reference" about:"The group that the others are compared with; the first unless written."`
	Tests     document.OneOrMore[document.String] `doc:"tests" enum:"log-rank|gehan-breslow|tarone-ware|peto-peto|fleming-harrington|maximum-combination|trend" about:"Tests of the groups, by cluster where the analysis has one: log-rank (default); gehan-breslow, tarone-ware, peto-peto, which look at early times more; fleming-harrington, with powers; maximum-combination, of two groups, where it is not known beforehand whether a difference comes early or late; trend, that the event comes earlier or later with the scores."`
	Powers    []float64                           `doc:"powers" about:"For fleming-harrington, two powers from 0 on: of the curve, above 0 for early times, and of one minus it, above 0 for late ones."`
	Scores    document.Ordered[float64]           `doc:"scores" about:"For trend, the score of every level of by; 1, 2, 3 and so on in order of the categories unless written."`
	Pairs     string                              `doc:"pairs" enum:"holm|bonferroni|hochberg|benjamini-hochberg|benjamini-yekutieli" about:"Also each pair of groups by the first of tests, with P values adjusted for the number of pairs by this method."`
	Stratify  *document.String                    `doc:"stratify" about:"Variable with levels within which the groups are compared by those tests, such as site."`
	Quantiles []float64                           `doc:"quantiles" about:"Shares of the rows by whose event times are given beside the median, such as 0.25 and 0.75."`
	At        []float64                           `doc:"at" about:"Times at which the curve is read off."`
	Ticks     []float64                           `doc:"ticks" about:"Times of the table of numbers at risk, from 0; chosen unless written."`
	Limits    string                              `doc:"limits" enum:"log-log|log|plain|arcsine" about:"Scale of the curve's limits; log-log unless written."`
	Bands     string                              `doc:"bands" enum:"hall-wellner|equal-precision" about:"Limits that hold the whole curve at once, in the figure in place of those of each point; not with cluster."`
	Hazard    bool                                `doc:"hazard" about:"true: also the cumulative hazard (Nelson and Aalen), whose slope is the hazard, with a figure."`
	Horizon   *float64                            `doc:"horizon" above:"0" about:"Time up to which the restricted mean time of each group is given, and its difference from that of the reference."`
	Interval  *SeenBetween                        `doc:"interval" about:"Where an event is seen only between visits: the interval-censored curve, beside those that take it to fall on the visit's day or midway."`
	Unit      string                              `doc:"unit" about:"Word for the unit of time; days unless written."`
	Cluster   *document.String                    `doc:"cluster" about:"Variable of the clusters, such as the child of two heels, for robust errors of the curves and the model."`
	Weights   *Expression                         `doc:"weights" about:"Expression of how much a row counts, above 0, such as the inverse of the chance to be in the sample: for the curves and the model, whose errors are then robust. Groups are then not tested."`
	Model     *HazardModel                        `doc:"model" about:"A Cox model."`
}

// An EndPoint is the event that ends a row's time, or censors it.
type EndPoint struct {
	Day      Expression        `doc:"day,required" about:"Expression of the day the time ends, by the event or by censoring."`
	When     Expression        `doc:"when,required" about:"Condition that the event happened on that day; otherwise the time is censored."`
	Position document.Position `doc:"-"`
}

// An OtherEvent is another definition of the event.
type OtherEvent struct {
	Label    document.String   `doc:"label,required" about:"Its name in tables."`
	Day      Expression        `doc:"day,required" about:"Expression of the day the time ends by this definition, by the event or by censoring."`
	When     Expression        `doc:"when,required" about:"Condition that the event by this definition happened on that day."`
	Position document.Position `doc:"-"`
}

// Together says which rows make one unit, and when that has the event.
type Together struct {
	By       document.OneOrMore[document.String] `doc:"by,required" about:"Variables whose values the rows of one unit share."`
	Event    string                              `doc:"event,required" enum:"first|last" about:"first: the unit has the event with the first of its rows; last: once all of them have it. An end of another sort in any of its rows before then ends the unit by it."`
	Position document.Position                   `doc:"-"`
}

// SeenBetween says between which visits an event fell.
type SeenBetween struct {
	Without    Expression        `doc:"without,required" about:"Expression of the day of the last visit without the event; where it is missing the start."`
	With       Expression        `doc:"with,required" about:"Expression of the day of the first visit with the event; where it is missing the event was not seen."`
	Seed       *int              `doc:"seed" min:"0" about:"Seed of the resamples behind the limits; 1 unless written."`
	Replicates *int              `doc:"replicates" min:"100" max:"100000" about:"Resamples of the clusters, or rows; 500 unless written."`
	Position   document.Position `doc:"-"`
}

// A CompetingEnd is an end, on the event's day, that shuts the event out.
type CompetingEnd struct {
	When     Expression        `doc:"when,required" about:"Condition that this end came on the event's day."`
	Label    document.String   `doc:"label,required" about:"Its name in tables and figures."`
	Position document.Position `doc:"-"`
}

// A HazardModel is a Cox model, with what stands beside it.
type HazardModel struct {
	Terms      []document.String                   `doc:"terms" about:"Variables of the model; at least one of terms and later."`
	Later      []LaterTerm                         `doc:"later" about:"Yes-or-no terms that are no until their day and yes after it, such as a treatment that begins after the start: rows count as untreated until then."`
	Reference  document.Ordered[document.String]   `doc:"reference" about:"Reference levels; the first level unless written here or as the analysis's reference."`
	Ties       string                              `doc:"ties" enum:"efron|breslow|exact" about:"Handling of tied events; efron unless written. exact: conditional on the number of events at each time, without cluster."`
	Strata     *document.String                    `doc:"strata" about:"Variable with levels, each with a baseline hazard of its own, such as site."`
	Spline     document.Ordered[Spline]            `doc:"spline" about:"Numbers among the terms that enter as natural cubic splines."`
	Offset     *Expression                         `doc:"offset" about:"Expression of a known logarithm of the hazard ratio of each row."`
	Penalty    string                              `doc:"penalty" enum:"firth" about:"firth: the partial likelihood penalised by Firth's method, with profile limits, which are finite where a group has no event and a Cox model has no estimate; breslow ties, without cluster and weights."`
	Frailty    bool                                `doc:"frailty" about:"true, with cluster: also the model with a gamma frailty shared by the rows of a cluster, whose ratios compare rows of one child, not of all."`
	Parametric document.OneOrMore[document.String] `doc:"parametric" enum:"exponential|weibull|log-normal|log-logistic" about:"Also parametric models of time with these distributions, of the intervals where the analysis has interval."`
	Residuals  bool                                `doc:"residuals" about:"true: a figure of each hazard ratio as it seems to run in time, from smoothed residuals."`
	Adjusted   bool                                `doc:"adjusted" about:"true, with by among the terms: the curves that the model predicts were all rows in each group, other terms as observed, with their differences at the times of at and, with horizon, restricted means."`
	Ends       bool                                `doc:"ends" about:"true, with competing: also the hazard ratios of each competing end, the other ends being censored (cause-specific)."`
	Incidence  bool                                `doc:"incidence" about:"true, with competing: also the model of the cumulative incidence of the event, and with ends of each end (Fine and Gray's subdistribution hazard ratios)."`
	Position   document.Position                   `doc:"-"`
}

// A LaterTerm is a treatment, or another state, that begins at a day of its own.
type LaterTerm struct {
	Name     document.String   `doc:"name,required" about:"Name of the term."`
	Label    string            `doc:"label" about:"Its label; the name unless written."`
	Day      Expression        `doc:"day,required" about:"Expression of the day it begins, on the clock of the event's day. Rows where it is missing and that are not among never are left out."`
	Never    *Expression       `doc:"never" about:"Condition that it never began."`
	Position document.Position `doc:"-"`
}
