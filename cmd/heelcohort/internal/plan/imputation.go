package plan

import "heelcohort/codebook/document"

// An Imputation says how missing values of a model's variables are imputed.
type Imputation struct {
	With        document.OneOrMore[document.String] `doc:"with" about:"Variables beside those of the model that tell of the missing values, such as the main sport."`
	Imputations *int                                `doc:"imputations" min:"2" max:"1000" about:"Completed data sets; 20 unless written."`
	Cycles      *int                                `doc:"cycles" min:"1" max:"1000" about:"Cycles through the variables for each; 10 unless written."`
	Seed        *int                                `doc:"seed" min:"0" about:"Seed of the draws; 1 unless written."`
	Position    document.Position                   `doc:"-"`
}
