package plan

import "heelcohort/codebook/document"

// Spells says when an episode is over, so that time within it is not at risk
// and a new onset soon after it is the same spell.
type Spells struct {
	End      Expression        `doc:"end,required" about:"Expression of the study day on which the episode ends, itself not included. An episode without an end runs to the end of observation."`
	Gap      float64           `doc:"gap,required" min:"0" about:"Days free of symptoms after an end that a new spell needs; they are not at risk, and an onset within them belongs to the earlier spell."`
	Within   *document.String  `doc:"within" about:"Variable of the events' table with categories, such as the heel: each of its levels is at risk by itself, and the child's person-time counts for each. The child as a whole unless written."`
	Position document.Position `doc:"-"`
}

// Calendar defines a grouping by the time at which something happens, such as
// the season.
type Calendar struct {
	Name     document.String   `doc:"name,required" about:"Name of the variable."`
	Label    string            `doc:"label" about:"Its label; the name unless written."`
	AtZero   *Expression       `doc:"at_zero" about:"The participants' calendar day on study day 0, where starts are days of a calendar; starts are study days unless written."`
	Starts   []float64         `doc:"starts,required" about:"Ascending days on which the bands start, each included in the band; what is before the first is not at risk."`
	Until    *float64          `doc:"until" about:"Day on which the last band ends, itself not included; it has no end unless written."`
	Labels   []string          `doc:"labels" about:"Labels of the bands, one for each start."`
	Position document.Position `doc:"-"`
}

// Window is the part of the study days that is studied.
type Window struct {
	From     *float64          `doc:"from" about:"First study day; from the beginning of observation unless written."`
	To       *float64          `doc:"to" about:"Study day on which it ends, itself not included; to the end of observation unless written."`
	Position document.Position `doc:"-"`
}
