package plan

import "heelcohort/codebook/document"

// A Recurrence is an analysis of kind recurrence.
type Recurrence struct {
	Head
	Events Onsets           `doc:"events,required" about:"The onsets, and when what began there is over."`
	Gap    *float64         `doc:"gap,required" min:"0" about:"Days without symptoms that a new spell needs: an onset sooner after the end of a spell belongs to that spell. 0: every onset after the day of the end begins a new one."`
	AtRisk *AtRisk          `doc:"at_risk" about:"The intervals under observation, with an amount (hours) where rates are per amount; entry and exit in its place for one interval a child."`
	Entry  *Expression      `doc:"entry" about:"Expression of the participants' day on which observation begins; 0 unless written, beside exit."`
	Exit   *Expression      `doc:"exit" about:"Expression of the participants' day on which it ends, in place of at_risk."`
	Start  *Expression      `doc:"start" about:"Expression of the participants' day the clock starts; 0 unless written. Days before it are left out."`
	Ends   *Ends            `doc:"ends" about:"Exits after which no spell can follow, such as giving up the sport; all are censored unless written. A spell of such a child that was not seen to be over lasts until its exit."`
	During string           `doc:"during" enum:"counted|left-out" about:"Whether the mean cumulative count has children within a spell, or in the gap after it, at risk: counted (default), so that it is spells a child; left-out, so that it is a cumulative rate of those free of symptoms. Rates always leave those days out."`
	By     *document.String `doc:"by" about:"The grouping variable of the participants."`
	At     []float64        `doc:"at" about:"Days at which the count is read off."`
	Ticks  []float64        `doc:"ticks" about:"Days of the table of numbers at risk, from 0; chosen unless written."`
	Per    *float64         `doc:"per" above:"0" about:"Person-time that rates are expressed per; 1 unless written."`
	Unit   string           `doc:"unit" about:"Word for the unit of person-time, such as hours; days without an amount."`
	Model  *RecurrenceModel `doc:"model" about:"A Cox model of the spells."`
	States *States          `doc:"states" about:"The share of the children in each state, day by day: symptomatic, back, relapsed, having given up. Needs end of events."`
}

// Onsets are events that begin on a day and are over on another.
type Onsets struct {
	Table    document.String   `doc:"table,required" about:"The table."`
	Day      Expression        `doc:"day,required" about:"Expression of the study day of the onset."`
	When     *Expression       `doc:"when" about:"Condition of the rows that are events; all unless written."`
	End      *SpellEnd         `doc:"end" about:"When the symptoms that began there were over; the day of the onset unless written, so that gap counts from onset to onset."`
	Position document.Position `doc:"-"`
}

// A SpellEnd is the day on which symptoms were over, or last known to go on.
type SpellEnd struct {
	Day      Expression        `doc:"day,required" about:"Expression of the day."`
	When     *Expression       `doc:"when" about:"Condition that they were over on that day, as by a return; otherwise observation of the child ends there. Always unless written."`
	Position document.Position `doc:"-"`
}

// Ends says which exits are for good.
type Ends struct {
	When     Expression        `doc:"when,required" about:"Condition of the participants whose observation ended for good."`
	Position document.Position `doc:"-"`
}
