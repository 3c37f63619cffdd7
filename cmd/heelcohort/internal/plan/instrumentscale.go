package plan

import "heelcohort/codebook/document"

// PainScore checks the scores of one scale.
type PainScore struct {
	InstrumentHead
	Score    document.String `doc:"score,required" about:"The score, or the number of the face."`
	Scale    string          `doc:"scale,required" enum:"vas|nrs|faces" about:"vas: 0 to 100 mm; nrs: 0 to 10, whole; faces: the revised faces pain scale, 0, 2, 4, 6, 8, 10. An expression that names variables of two scales is refused."`
	Recorded string          `doc:"recorded" enum:"score|face" about:"With scale faces: score (default), or face where the data have the number of the face, 1 to 6."`
}

// OxfordScore scores one domain of one form.
type OxfordScore struct {
	InstrumentHead
	Form    string            `doc:"form,required" enum:"child|parent" about:"Whose answers these are. An expression that names scores of both forms is refused."`
	Domain  string            `doc:"domain,required" enum:"physical|school_play|emotional|footwear" about:"The domain, of 6, 4, 4 and 1 items."`
	Items   []document.String `doc:"items,required" about:"The items, each 0 to 4 with 4 as never a problem."`
	Missing string            `doc:"missing" enum:"none|half" about:"none (default): no score where an item is missing; half: where at least half are answered, the percentage over those."`
}
