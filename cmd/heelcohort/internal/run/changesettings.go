package run

import (
	"fmt"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/stats"
)

// settings notes the choices and says the methods.
func (s *change) settings(b *builder) {
	a := s.plan
	b.name(s.value)
	b.name(s.visit)
	b.set("value", s.value.Name, true)
	var subject []string
	for _, v := range s.subject {
		subject = append(subject, v.Name)
	}
	b.set("subject", strings.Join(subject, ", "), true)
	if s.cluster != nil {
		b.set("cluster", s.cluster.Name, true)
	} else {
		b.set("cluster", "none: subjects taken as independent", false)
	}
	if a.Among != nil {
		b.set("among", a.Among.Value, true)
	} else {
		b.set("among", "every row", false)
	}
	b.set("day", a.Day.Value, true)
	if s.named != nil {
		b.set("visits", "levels of "+s.named.Name, true)
		b.set("several at one visit", "one with a value, then the earlier", false)
	} else {
		var list []string
		for i, w := range s.windows {
			if s.start != nil && i == 0 {
				continue
			}
			list = append(list, fmt.Sprintf("%s: days %v to %v, target %v", s.visit.Words[i], w.from, w.to, w.target))
		}
		b.set("visits", strings.Join(list, "; "), true)
		b.set("several at one visit", "one with a value, then the nearest to the target, then the earlier", false)
	}
	if s.start == nil {
		b.set("baseline", a.Baseline.Visit.Value, true)
	} else {
		b.set("baseline", a.Baseline.Value.Value, true)
		day := "0"
		if a.Baseline.Day != nil {
			day = a.Baseline.Day.Value
		}
		b.set("day of the baseline", day, a.Baseline.Day != nil)
	}
	b.Methods = fmt.Sprintf("Means and changes from the baseline (%s) of %s have limits by Student's t", s.visit.LevelLabels()[0], lowerLabel(s.value))
	if s.cluster != nil {
		b.Methods += " from errors that are robust to dependence within " + s.cluster.Label
		b.cite("Liang 1986")
	}
	b.Methods += "; a change is of the subjects who have a value at the baseline and at the visit."
	s.modelSettings(b)
	s.thresholdSettings(b)
}

// modelSettings says how the groups are compared.
func (s *change) modelSettings(b *builder) {
	if s.by == nil {
		return
	}
	b.setTerms(append([]term{*s.by}, s.adjust...))
	b.set("working correlation", string(s.working), s.plan.Model != nil && s.plan.Model.Working != "")
	errors, limits := string(stats.CR0), string(stats.ReferenceNormal)
	if s.reduced {
		errors = biasReducedErrors
	}
	if s.student {
		limits = string(stats.ReferenceClusters)
	}
	b.set("robust errors", errors, s.plan.Model != nil && s.plan.Model.Errors != "")
	b.set("limits of the model", limits, s.plan.Model != nil && s.plan.Model.Limits != "")
	with := "group, visit, their interaction"
	for i, t := range append([]term{{variable: cohort.Variable{Label: "the value at the baseline"}}}, s.adjust...) {
		if i == len(s.adjust) {
			with += " and " + lowerLabel(t.variable)
		} else {
			with += ", " + lowerLabel(t.variable)
		}
	}
	within := "subjects"
	if s.cluster != nil {
		within = s.cluster.Label
	}
	b.Methods += fmt.Sprintf(" The values at the visits after the baseline have a marginal linear model of %s, by generalised estimating equations with %s working correlation and errors robust to dependence within %s%s",
		with, map[stats.WorkingCorrelation]string{stats.Exchangeable: "an exchangeable", stats.Independence: "an independence"}[s.working], within, errorSentences[errors])
	if s.student {
		b.Methods += " and the t distribution with as many degrees of freedom as there are clusters more than coefficients"
	}
	b.Methods += "; with the baseline in it a difference of values is a difference of changes."
	b.cite("Liang 1986", "Vickers 2001")
	if s.reduced {
		b.cite("Mancl 2001")
	}
}

// said is the threshold in words.
func (s *change) said() string {
	p, unit := s.threshold.plan, ""
	if s.value.Unit != "" {
		unit = " " + s.value.Unit
	}
	switch {
	case p.Change != nil:
		return fmt.Sprintf("a value at least %v%s %s than at the baseline", *p.Change, unit, p.Direction)
	case p.Percent != nil:
		return fmt.Sprintf("a value at least %v%% of the baseline %s than there", *p.Percent, p.Direction)
	case p.Direction == lowerWord:
		return fmt.Sprintf("a value of %v%s or lower", *p.Value, unit)
	}
	return fmt.Sprintf("a value of %v%s or higher", *p.Value, unit)
}

// lowerWord is the direction of a fall.
const lowerWord = "lower"

func (s *change) thresholdSettings(b *builder) {
	if s.threshold == nil {
		return
	}
	p := s.threshold.plan
	b.set("threshold", s.said(), true)
	b.set("unit of time", "days", false)
	b.set("replicates", fmt.Sprint(s.threshold.replicates), p.Replicates != nil)
	b.set("seed", fmt.Sprint(s.threshold.seed), p.Seed != nil)
	b.Methods += fmt.Sprintf(" Reached is %s; shares of the subjects with a value at the baseline and at the visit have Wilson's limits", s.said())
	b.cite("Wilson 1927")
	if s.cluster != nil {
		b.Methods += " of an effective size by the robust variance within " + s.cluster.Label
		b.cite("Korn 1998")
	}
	if s.by != nil {
		b.Methods += ", risk differences hybrid limits made of those"
		b.cite("Newcombe 1998")
		if s.cluster != nil {
			b.cite("Zou 2008")
		}
	}
	unit := "subjects"
	if s.cluster != nil {
		unit = lowerLabel(*s.cluster)
	}
	b.Methods += ". The time from the baseline until it was first reached, whether or not it lasted, lies between the last visit without it and the first with it, any visit with a value being one:" +
		" the nonparametric curve of greatest likelihood has percentile limits from resamples of " + unit +
		", and beside it stand Kaplan–Meier curves that take it to have come on the day of the visit, and midway. Subjects who did not reach it are censored at their last visit."
	b.cite("Turnbull 1976", "Gentleman 1994", "Kaplan 1958", "Brookmeyer 1982")
}
