package plan

import "heelcohort/codebook/document"

// States is the occupancy of states that spells lead through.
type States struct {
	Clock      string            `doc:"clock" enum:"onset|start" about:"onset (default): days since a child's first known onset; children whose onset was before observation began enter late, those without a spell have no place. start: days on the clock of the analysis; then there is a state before the first spell, and those who are ill on day 0 begin so."`
	At         []float64         `doc:"at" about:"Days at which the shares are read off."`
	Every      *float64          `doc:"every" above:"0" about:"Days between those at which the curves are read off; chosen unless written."`
	Horizon    *float64          `doc:"horizon" above:"0" about:"Day up to which the mean days in each state are given and the curves are drawn; the curves go to the last day they are known unless written."`
	Unobserved *float64          `doc:"unobserved" min:"0" below:"1" about:"Share of the children that may be in states in which nobody is under observation any more before the curves end; until then nobody is taken to leave those states, and shares are uncertain by as much. 0 unless written."`
	Cluster    *document.String  `doc:"cluster" about:"Variable of the participants within whose values errors are robust, such as the child where participants are heels; the participant unless written."`
	Position   document.Position `doc:"-"`
}
