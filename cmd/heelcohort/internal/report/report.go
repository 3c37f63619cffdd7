package report

import (
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
)

// Input is what a report is made of.
type Input struct {
	Results  *result.Results   // sealed
	Findings []dataset.Finding // for the first places of each rule; may be nil
	Figures  map[string][]byte // SVG by figure id
}

// defaultCaution is shown where the results carry none.
const defaultCaution = "For research on de-identified data. Not for diagnosing or treating a child, nor for deciding " +
	"whether one may play: licensed clinicians, the ethics board and local law decide."

// caution is the sentence that stands wherever results are shown.
func (in Input) caution() string {
	if in.Results.Caution != "" {
		return in.Results.Caution
	}
	return defaultCaution
}
