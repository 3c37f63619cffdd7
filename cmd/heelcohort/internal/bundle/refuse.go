package bundle

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset"
)

// Findings are those for which no bundle is made.
type Findings struct {
	List    []dataset.Finding
	Persons bool // they are of the screen for identifiers
}

// Error says what stands in the way, with the place of the first finding.
func (f *Findings) Error() string {
	where := f.List[0].Where.String()
	if where == "" {
		where = f.List[0].Table
	}
	if f.Persons {
		return fmt.Sprintf("no bundle was made: the data may name people or single one out, first in %s (%s); remove it, or declare in the codebook why it may stay", where, f.List[0].Rule)
	}
	return fmt.Sprintf("no bundle was made: the data have findings that the plan does not except, first in %s (%s); correct them, or accept their rule in the plan with a reason", where, f.List[0].Rule)
}

// refuse returns the findings that stand in the way: all of the screen for
// identifiers, whatever the plan says, else those that it does not except.
func refuse(s *run.Study, findings []dataset.Finding) error {
	var persons, others []dataset.Finding
	for _, f := range findings {
		switch {
		case screened(f):
			persons = append(persons, f)
		case !excepted(s.Plan, f.Rule, f.Severity == dataset.Error):
			others = append(others, f)
		}
	}
	switch {
	case len(persons) > 0:
		return &Findings{persons, true}
	case len(others) > 0:
		return &Findings{others, false}
	}
	return nil
}

// screened reports whether a finding says that the data may name people or
// single one out.
func screened(f dataset.Finding) bool {
	switch f.Rule {
	case dataset.RuleAnonymity, dataset.RuleAuthor, dataset.RulePicture:
		return true
	}
	return f.Screen != "" || f.Identifies()
}

// excepted reports whether the plan lets a rule's findings through: errors by
// set-missing, any by their rule.
func excepted(p *plan.Plan, rule string, isError bool) bool {
	return isError && p.SetMissing() || p.Accepts(rule)
}

// refuseCounts refuses findings that only the analyses showed.
func refuseCounts(s *run.Study, counts []result.Count) error {
	for _, c := range counts {
		if !excepted(s.Plan, c.Rule, c.Severity == dataset.Error.String()) {
			return fmt.Errorf("no bundle was made: the results have findings that the plan does not except, first in %s (%s: %s); correct them, or accept their rule in the plan with a reason", c.First, c.Rule, c.Message)
		}
	}
	return nil
}

// withholdable refuses results that would carry what is to stay behind.
func withholdable(s *run.Study, findings []dataset.Finding) error {
	if len(findings) > 0 {
		return fmt.Errorf("no bundle was made: the data have findings, first in %s, and results/findings.csv shows their cells; without data there may be none", findings[0].Where)
	}
	for _, a := range s.Plan.Analyses {
		if a, is := a.(*plan.Agreement); is && a.Points {
			return s.Plan.Fault(a.Position, "", fmt.Sprintf("analysis %s has points: true, so that its results hold rows of participants; without data there may be none", a.ID.Value))
		}
	}
	return nil
}
