package plan

import "heelcohort/codebook/document"

// A TimeToEvent is an analysis of kind time-to-event.
type TimeToEvent struct {
	Head
	Table     *document.String                    `doc:"table" about:"The table; the participants' unless written."`
	Start     *Expression                         `doc:"start" about:"Expression of the day the clock starts; 0 unless written."`
	Entry     *Expression                         `doc:"entry" about:"Expression of the day observation begins; the start unless written."`
	Event     EndPoint                            `doc:"event,required" about:"The event and its day."`
	Competing []CompetingEnd                      `doc:"competing" about:"Ends after which the event can no longer happen, such as giving up the sport: cumulative incidences are given, and compared by Gray's test."`
	By        *document.String                    `doc:"by" about:"The grouping variable."`
	Reference *document.String                    `doc:"reference" about:"The group that the others are compared with; the first unless written."`
	Tests     document.OneOrMore[document.String] `doc:"tests" enum:"log-rank|gehan-breslow|tarone-ware|peto-peto" about:"Tests of the groups: log-rank (default), or tests that look at early times more: gehan-breslow, tarone-ware, peto-peto."`
	Stratify  *document.String                    `doc:"stratify" about:"Variable with levels within which the groups are compared by those tests, such as site."`
	At        []float64                           `doc:"at" about:"Times at which the curve is read off."`
	Ticks     []float64                           `doc:"ticks" about:"Times of the table of numbers at risk, from 0; chosen unless written."`
	Limits    string                              `doc:"limits" enum:"log-log|log|plain|arcsine" about:"Scale of the curve's limits; log-log unless written."`
	Bands     string                              `doc:"bands" enum:"hall-wellner|equal-precision" about:"Limits that hold the whole curve at once, in the figure in place of those of each point; not with cluster."`
	Horizon   *float64                            `doc:"horizon" above:"0" about:"Time up to which the restricted mean time of each group is given, and its difference from that of the reference."`
	Interval  *SeenBetween                        `doc:"interval" about:"Where an event is seen only between visits: the interval-censored curve, beside those that take it to fall on the visit's day or midway."`
	Unit      string                              `doc:"unit" about:"Word for the unit of time; days unless written."`
	Cluster   *document.String                    `doc:"cluster" about:"Variable of the clusters, such as the child of two heels, for robust errors of the curves and the model."`
	Model     *HazardModel                        `doc:"model" about:"A Cox model."`
}

// An EndPoint is the event that ends a row's time, or censors it.
type EndPoint struct {
	Day      Expression        `doc:"day,required" about:"Expression of the day the time ends, by the event or by censoring."`
	When     Expression        `doc:"when,required" about:"Condition that the event happened on that day; otherwise the time is censored."`
	Position document.Position `doc:"-"`
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

// A HazardModel is a Cox model.
type HazardModel struct {
	Terms     []document.String                 `doc:"terms,required" about:"Variables of the model."`
	Reference document.Ordered[document.String] `doc:"reference" about:"Reference levels; the first level unless written here or as the analysis's reference."`
	Ties      string                            `doc:"ties" enum:"efron|breslow|exact" about:"Handling of tied events; efron unless written. exact: conditional on the number of events at each time, without cluster."`
	Strata    *document.String                  `doc:"strata" about:"Variable with levels, each with a baseline hazard of its own, such as site."`
	Spline    document.Ordered[Spline]          `doc:"spline" about:"Numbers among the terms that enter as natural cubic splines."`
	Residuals bool                              `doc:"residuals" about:"true: a figure of each hazard ratio as it seems to run in time, from smoothed residuals."`
	Adjusted  bool                              `doc:"adjusted" about:"true, with by among the terms: the curves that the model predicts were all rows in each group, other terms as observed, with their differences at the times of at and, with horizon, restricted means."`
	Ends      bool                              `doc:"ends" about:"true, with competing: also the hazard ratios of each competing end, the other ends being censored (cause-specific)."`
	Incidence bool                              `doc:"incidence" about:"true, with competing: also the model of the cumulative incidence of the event, and with ends of each end (Fine and Gray's subdistribution hazard ratios)."`
	Position  document.Position                 `doc:"-"`
}
