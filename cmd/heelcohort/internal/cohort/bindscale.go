package cohort

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/codebook/instrument"
	"heelcohort/codebook/value"
)

func (s *scoring) bindPain(i *plan.PainScore) error {
	scale := instrument.PainScale(i.Scale)
	legal := scale.Legal()
	allowed, unit := []string{noUnit, "points"}, "points"
	face := i.Recorded == "face"
	switch {
	case face && scale != instrument.ScaleFaces:
		return i.Name.Errorf(1, 1, "", "recorded: face belongs to scale: faces")
	case face:
		legal = instrument.FaceNumber
	case scale == instrument.ScaleVAS:
		allowed, unit = []string{"mm"}, "mm"
	}
	if err := s.add(i.Score, &legal, allowed...); err != nil {
		return err
	}
	s.variable.Unit = unit
	s.score = func(x []value.Value) (value.Value, error) {
		if face {
			return num(instrument.FaceScore(x[0].Number))
		}
		return num(instrument.PainScore(scale, x[0].Number))
	}
	s.set("scale", i.Scale, true)
	switch scale {
	case instrument.ScaleVAS:
		s.operands[0].doubts = func(x []float64) string {
			if instrument.LikelyCentimetres(x) {
				return "No score of the visual analogue scale is above 10 and some have decimals: they may be in cm."
			}
			return ""
		}
		s.note.Methods = "Pain is scored on a visual analogue scale of 0 to 100 mm."
	case instrument.ScaleNRS:
		s.note.Methods = "Pain is scored on a numerical rating scale of 0 to 10."
	case instrument.ScaleFaces:
		recorded := "score"
		s.note.Methods = "Pain is scored on the revised faces pain scale: 0, 2, 4, 6, 8, 10."
		if face {
			recorded = "face"
			s.note.Methods = "Pain is scored on the revised faces pain scale: faces 1 to 6 are 0, 2, 4, 6, 8, 10."
		}
		s.set("recorded", recorded, i.Recorded != "")
		s.cite(0)
	}
	s.note.Methods += " Scores of different scales are not pooled."
	return nil
}

func (s *scoring) bindOxford(i *plan.OxfordScore) error {
	for _, d := range instrument.OxfordDomains() {
		if d.Name == i.Domain && d.Items != len(i.Items) {
			return i.Name.Errorf(1, 1, "", "%s of the domain %s, expected %d", printed.Plural(len(i.Items), "item"), d.Name, d.Items)
		}
	}
	for _, name := range i.Items {
		if err := s.add(name, &instrument.OxfordItem, noUnit, "points"); err != nil {
			return err
		}
	}
	s.variable.Unit = "%"
	s.lenient = true
	rule, said := instrument.AnyMissing, "missing where an item is"
	if i.Missing == string(instrument.HalfAnswered) {
		rule, said = instrument.HalfAnswered, "taken over the answered items where at least half are, and missing otherwise"
	}
	s.score = func(x []value.Value) (value.Value, error) {
		items := numbers(x)
		for k, v := range x {
			if v.Missing {
				items[k] = math.NaN()
			}
		}
		return num(instrument.OxfordScore(items, rule))
	}
	s.set("form", i.Form, true)
	s.set("domain", i.Domain, true)
	s.set("missing items", string(rule), i.Missing != "")
	s.note.Methods = fmt.Sprintf("Domain scores of the Oxford ankle foot questionnaire for children (%s form) are the sum of the items, each 0 to 4, as a percentage of the greatest sum, higher being better, %s.", i.Form, said)
	s.cite(0, 1)
	return nil
}
