package plan

import "heelcohort/codebook/document"

// States is the occupancy of states that spells lead through.
type States struct {
	Clock      string            `doc:"clock" enum:"onset|start" about:"onset (default): days since a child's first known onset; children whose onset was before observation began enter late, those without a spell have no place. start: days on the clock of the analysis; then there is a state before the first spell, and those who are ill on day 0 begin so."`
	At         []float64         `doc:"at" about:"Days at which the shares are read off."`
	Every      *float64          `doc:"every" above:"0" about:"Days between those at which the curves are read off; chosen unless written."`
	Horizon    *float64          `doc:"horizon" above:"0" about:"Day up to which the mean days in each state are given and the curves are drawn; the curves go to the last day they are known unless written."`
	Unobserved string            `doc:"unobserved" enum:"stop|hold" about:"Where a state that children are in has nobody under observation any more: stop (default): the curves end there, as it is not known who left it; hold: they go on as if nobody left it."`
	Cluster    *document.String  `doc:"cluster" about:"Variable of the participants within whose values errors are robust, such as the child where participants are heels; the participant unless written."`
	Position   document.Position `doc:"-"`
}
