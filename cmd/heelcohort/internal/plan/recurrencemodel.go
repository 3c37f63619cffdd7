package plan

import "heelcohort/codebook/document"

// Layouts of the rows of a RecurrenceModel.
const (
	LayoutAndersenGill = "andersen-gill"
	LayoutTotalTime    = "total-time"
	LayoutGapTime      = "gap-time"
	LayoutMarginal     = "marginal"
)

// A RecurrenceModel is a Cox model of spells. Days of a spell, and of the gap
// after it, are not at risk of the next.
type RecurrenceModel struct {
	Terms     []document.String                 `doc:"terms,required" about:"Variables of the participants."`
	Reference document.Ordered[document.String] `doc:"reference" about:"Reference levels; the first level unless written."`
	Layout    *document.String                  `doc:"layout" enum:"andersen-gill|total-time|gap-time|marginal" about:"What hazards are compared. andersen-gill (default): the rate of all spells, alike, on the clock of the analysis. total-time: the k-th spell of children that have had k-1 before (Prentice, Williams and Peterson), on that clock. gap-time: the same on the days since the spell before was over. marginal: the time to the first, the second, … spell of all children, each from the start of observation (Wei, Lin and Weissfeld), with ratios of their own."`
	Largest   *int                              `doc:"largest" min:"1" about:"With total-time and gap-time: the number of the spell from which on later spells share a baseline; each number has its own unless written. With marginal, where it must be written: the number of the last spell modelled."`
	Frailty   bool                              `doc:"frailty" about:"true: a frailty of the gamma distribution that a child's spells share, in place of robust errors; not with marginal."`
	Ties      string                            `doc:"ties" enum:"efron|breslow" about:"Handling of tied spells; efron unless written."`
	Cluster   *document.String                  `doc:"cluster" about:"Variable of the participants within whose values errors are robust, or frailty is shared, such as the child where participants are heels; the participant unless written."`
	Position  document.Position                 `doc:"-"`
}
