package plan

import "heelcohort/codebook/document"

// A Burden is an analysis of kind burden.
type Burden struct {
	Head
	Events     Losses                       `doc:"events,required" about:"The episodes and the days lost to them."`
	AtRisk     AtRisk                       `doc:"at_risk,required" about:"The person-time."`
	By         document.OneOrMore[Grouping] `doc:"by" about:"Up to two variables."`
	Per        *float64                     `doc:"per" above:"0" about:"Person-time that the burden is expressed per; 1 unless written."`
	Unit       string                       `doc:"unit" about:"Word for the unit of person-time, such as hours."`
	Unfinished string                       `doc:"unfinished" enum:"observed|restricted-mean" about:"What unfinished episodes count: observed (default), their days so far, which makes the burden a lower bound; restricted-mean, episodes times the Kaplan-Meier mean of their days up to the horizon."`
	Horizon    *float64                     `doc:"horizon" above:"0" about:"Days an episode counts for at most, with restricted-mean."`
	Severity   string                       `doc:"severity" enum:"both|bahr-2020|fuller-2006|none" about:"Bands of days lost: both unless written; bahr-2020: 0, 1 to 7, 8 to 28, more; fuller-2006: 0, 1 to 3, 4 to 7, 8 to 28, more; none."`
	Seed       *int                         `doc:"seed" min:"0" about:"Seed of the bootstrap; 1 unless written."`
	Replicates *int                         `doc:"replicates" min:"100" max:"100000" about:"Resamples of the bootstrap; 2000 unless written."`
}

// Losses are episodes with the days lost to them: as a number, or from the day
// of the onset until another.
type Losses struct {
	Table    document.String   `doc:"table,required" about:"The table."`
	Day      Expression        `doc:"day,required" about:"Expression of the study day of the onset."`
	When     *Expression       `doc:"when" about:"Condition of the rows that are episodes; all unless written."`
	Lost     *Expression       `doc:"lost" about:"Expression of the number of days lost to the row; each row counts, so that two heels of a child count twice."`
	Until    *Expression       `doc:"until" about:"Expression of the day up to which days are lost, itself not included, in place of lost; rows of a child that overlap are one episode and their days count once."`
	Finished *Expression       `doc:"finished" about:"Condition of the rows whose days are all known; every row unless written."`
	Position document.Position `doc:"-"`
}
