package run

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/stats"
)

// rateChoices are what an incidence analysis asks for beside rates and ratios.
type rateChoices struct {
	limits      plan.RateLimits
	differences bool
	homogeneity bool
	trend       bool
	scores      [][]float64 // by grouping; nil: no trend
	written     []bool      // the scores stand in the plan
	strata      int         // the grouping whose levels are strata; -1: none
	standard    *standard
}

// A standard is what rates are standardised over and to.
type standard struct {
	over     int       // the grouping
	to       string    // "": not directly; study, group, weights
	weights  []float64 // of the levels of over, written
	group    int       // level of the other grouping
	limits   chosen[stats.StandardMethod]
	written  bool // the limits stand in the plan
	indirect bool
}

// bindRates checks what is asked for beside rates and ratios, once by and its
// references are known.
func (s *incidence) bindRates(m *cohort.Model) error {
	a := s.plan
	s.choices = rateChoices{differences: a.Differences, strata: -1}
	if a.Limits != nil {
		s.choices.limits = *a.Limits
	}
	compared := slices.ContainsFunc(s.references, func(r int) bool { return r >= 0 })
	switch l := a.Limits; {
	case a.Differences && !compared:
		return m.Plan.Fault(a.Position, "", "differences compare with a reference level, expected reference beside differences")
	case l != nil && l.Ratio != "" && !compared:
		return m.Plan.Fault(l.Position, "", "limits of ratios, but nothing is compared: expected reference")
	case l != nil && l.Difference != "" && !a.Differences:
		return m.Plan.Fault(l.Position, "", "limits of differences, but none are asked for: expected differences: true")
	}
	if err := s.bindRateTests(m); err != nil {
		return err
	}
	if a.Stratify != nil {
		g, err := s.oneOfTwo(*a.Stratify, "stratify")
		if err != nil {
			return err
		}
		if s.references[1-g] < 0 {
			return a.Stratify.Errorf(1, 1, "", "stratify pools ratios of %q, which has no reference level: expected one under reference", s.by[1-g].variable.Name)
		}
		s.choices.strata = g
	}
	return s.bindStandard(m)
}

// groupingNamed finds a variable of by.
func (s *incidence) groupingNamed(name document.String, what string) (int, error) {
	var names []string
	for g, by := range s.by {
		if by.variable.Name == name.Value {
			return g, nil
		}
		names = append(names, by.variable.Name)
	}
	if len(names) == 0 {
		return 0, name.Errorf(1, 1, "", "%s %q, but by names no variable", what, name.Value)
	}
	return 0, name.Errorf(1, 1, document.Nearest(name.Value, names), "%s %q is not in by, expected one of %s", what, name.Value, strings.Join(names, ", "))
}

// oneOfTwo finds a variable of by that has another one beside it.
func (s *incidence) oneOfTwo(name document.String, what string) (int, error) {
	g, err := s.groupingNamed(name, what)
	if err == nil && len(s.by) != 2 {
		err = name.Errorf(1, 1, "", "%s %q leaves nothing to compare, expected a second variable in by", what, name.Value)
	}
	return g, err
}

func (s *incidence) bindRateTests(m *cohort.Model) error {
	a := s.plan
	for _, t := range a.Tests {
		if len(s.by) == 0 {
			return t.Errorf(1, 1, "", "%s is tested between groups, but by names no variable", t.Value)
		}
		s.choices.homogeneity = s.choices.homogeneity || t.Value == "homogeneity"
		s.choices.trend = s.choices.trend || t.Value == "trend"
	}
	if len(a.Scores) > 0 && !s.choices.trend {
		return m.Plan.Fault(a.Scores[0].Position, "", "scores are for the test of trend, expected trend among tests")
	}
	if !s.choices.trend {
		return nil
	}
	var known []string
	for _, by := range s.by {
		v := by.variable
		known = append(known, v.Name)
		var scores []float64
		at := slices.IndexFunc(a.Scores, func(e document.Entry[document.Ordered[float64]]) bool { return e.Key == v.Name })
		if at >= 0 {
			var err error
			if scores, err = perLevel(m, v, a.Scores[at].Value, "score", a.Scores[at].Position); err != nil {
				return err
			}
		} else if v.Ordered {
			for l := range v.Levels() {
				scores = append(scores, float64(l+1))
			}
		}
		s.choices.scores, s.choices.written = append(s.choices.scores, scores), append(s.choices.written, at >= 0)
	}
	for _, e := range a.Scores {
		if !slices.Contains(known, e.Key) {
			return m.Plan.Fault(e.Position, document.Nearest(e.Key, known), fmt.Sprintf("scores of %q, expected one of %s", e.Key, strings.Join(known, ", ")))
		}
	}
	if !slices.ContainsFunc(s.choices.scores, func(x []float64) bool { return x != nil }) {
		return m.Plan.Fault(a.Position, "", fmt.Sprintf("trend needs an order of the levels: %s has none in the codebook, expected scores", strings.Join(known, ", ")))
	}
	return nil
}

// perLevel gives the numbers of a variable's levels in their order; every level
// must have one. at is where the map stands.
func perLevel(m *cohort.Model, v cohort.Variable, given document.Ordered[float64], what string, at document.Position) ([]float64, error) {
	levels := v.Levels()
	for _, e := range given {
		if !slices.Contains(levels, e.Key) {
			return nil, m.Plan.Fault(e.Position, document.Nearest(e.Key, levels), fmt.Sprintf("%q is no level of %q, expected one of %s", e.Key, v.Name, strings.Join(levels, ", ")))
		}
	}
	var numbers []float64
	for _, level := range levels {
		x, there := given.Get(level)
		if !there {
			return nil, m.Plan.Fault(at, "", fmt.Sprintf("no %s for level %q of %q, expected one for every level (%s)", what, level, v.Name, strings.Join(levels, ", ")))
		}
		numbers = append(numbers, x)
	}
	return numbers, nil
}

func (s *incidence) bindStandard(m *cohort.Model) error {
	a := s.plan.Standardise
	if a == nil {
		return nil
	}
	g, err := s.groupingNamed(a.Over, "standardise over")
	if err != nil {
		return err
	}
	std := &standard{over: g, group: -1, indirect: a.Indirect, limits: choose(standardLimits, a.Limits), written: a.Limits != ""}
	s.choices.standard = std
	other := len(s.by) == 2
	switch {
	case a.To == nil && !a.Indirect:
		return m.Plan.Fault(a.Position, "", "standardise has neither to nor indirect, expected at least one of them")
	case a.To == nil && a.Limits != "":
		return m.Plan.Fault(a.Position, "", "limits of directly standardised rates, but no standard: expected to")
	case a.Indirect && (!other || s.references[1-g] < 0):
		return m.Plan.Fault(a.Position, "", "indirect standardisation takes the rates of a reference level of the other variable of by, expected it under reference")
	case a.To == nil:
	case a.To.Study:
		if !other {
			return m.Plan.Fault(a.To.Position, "", "the rate of all groups together, standardised to the study, is the crude rate: expected weights, or a second variable in by")
		}
		std.to = "study"
	case a.To.Group != nil:
		if !other {
			return a.To.Group.Errorf(1, 1, "", "group %q, but by has no other variable than %q", a.To.Group.Value, a.Over.Value)
		}
		std.to = "group"
		if std.group, err = m.Level(s.by[1-g].variable, *a.To.Group); err != nil {
			return err
		}
	default:
		std.to = "weights"
		if std.weights, err = perLevel(m, s.by[g].variable, a.To.Weights, "weight", a.To.Position); err != nil {
			return err
		}
		if !slices.ContainsFunc(std.weights, func(w float64) bool { return w > 0 }) {
			return m.Plan.Fault(a.To.Position, "", "all weights are 0, expected a standard")
		}
	}
	return nil
}
