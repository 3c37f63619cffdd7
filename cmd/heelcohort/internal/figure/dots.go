package figure

import (
	"fmt"

	"heelcohort/plots"
)

// dots is the dot plot of an incidence analysis: the variable with bands of
// numbers in rows, a panel a level of the other, and the rate over all as a
// line for reference.
func (s *source) dots() (plots.Dots, error) {
	f := plots.Dots{Title: s.Title}
	t, err := s.rateTable()
	if err != nil {
		return f, err
	}
	switch axis := s.Setting(AxisSetting); axis {
	case "", "log":
		f.Log = true
	case "linear":
	default:
		return f, fmt.Errorf("setting %s is %q, expected log or linear", AxisSetting, axis)
	}
	f.XLabel, f.GroupLabel, f.Groups = rateLabel(t.drawn)+confidence(t.drawn), s.label(t.x), s.labels(t.x, t.groups)
	var gaps map[string]int
	f.Panels, gaps = s.rateSeries(t)
	f.Note = gapNote(gaps)
	for _, r := range s.part("rates", "incidence rate") {
		if len(r.Groups) == 0 && r.Estimate > 0 {
			f.Reference, f.ReferenceName = float64(r.Estimate), "rate over all"
		}
	}
	return f, nil
}
