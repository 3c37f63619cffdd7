package run

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// change is an analysis of kind change.
type change struct {
	plan         *plan.Change
	participants string
	table        string
	value        cohort.Variable
	subject      []cohort.Variable
	cluster      *cohort.Variable
	among, day   *cohort.Formula
	windows      []visitWindow    // nil where a variable names the visit
	named        *cohort.Variable // that variable
	skipped      []string         // its levels before the baseline
	start, from  *cohort.Formula  // value and day of a baseline outside the visits; nil: it is a visit, and 0
	visit        cohort.Variable  // the visits from the baseline on, as levels
	by           *term
	adjust       []term
	working      stats.WorkingCorrelation
	reduced      bool
	student      bool
	threshold    *threshold
	names        func(row int) (string, bool) // the level of a row, where a variable names the visit
}

// A visitWindow holds one visit of a subject, from and to among its days.
type visitWindow struct{ from, to, target float64 }

// A threshold is what counts as reached.
type threshold struct {
	plan             *plan.Threshold
	seed, replicates int
	end              float64 // of the scale, in the direction that counts; NaN where the codebook has none
}

// visitName is the name of the visits in results where windows make them, and
// baselineName that of the value at baseline in the model.
const (
	visitName    = "visit"
	baselineName = "baseline"
)

func bindChange(m *cohort.Model, a *plan.Change) (job, error) {
	s := &change{plan: a, participants: m.Participants, working: stats.Exchangeable}
	var err error
	if s.table, err = tableOf(m, &a.Table); err != nil {
		return nil, err
	}
	if s.value, err = m.Variable(s.table, a.Value); err != nil {
		return nil, err
	}
	if s.value.Kind != value.Number {
		return nil, a.Value.Errorf(1, 1, "", "value %q is a %v, expected a number", s.value.Name, s.value.Kind)
	}
	if s.day, err = m.Expression(s.table, a.Day, value.Number); err != nil {
		return nil, err
	}
	if a.Among != nil {
		if s.among, err = m.Expression(s.table, *a.Among, value.Bool); err != nil {
			return nil, err
		}
	}
	if err := s.bindSubject(m); err != nil {
		return nil, err
	}
	if err := s.bindVisits(m); err != nil {
		return nil, err
	}
	if err := s.bindGroups(m); err != nil {
		return nil, err
	}
	return s, s.bindThreshold(m)
}

func (s *change) bindSubject(m *cohort.Model) error {
	a := s.plan
	if len(a.Subject) == 0 {
		return m.Plan.Fault(a.Position, "", fmt.Sprintf("analysis %q names no subject, expected the variables that are followed", a.ID.Value))
	}
	for i, name := range a.Subject {
		v, err := m.Variable(s.table, name)
		if err != nil {
			return err
		}
		if slices.ContainsFunc(a.Subject[:i], func(other document.String) bool { return other.Value == name.Value }) {
			return name.Errorf(1, 1, "", "%q stands twice in subject", name.Value)
		}
		s.subject = append(s.subject, v)
	}
	if a.Cluster != nil {
		v, err := m.Variable(s.table, *a.Cluster)
		if err != nil {
			return err
		}
		s.cluster = &v
	}
	return nil
}

// bindVisits finds the visits, by windows or by the levels of a variable.
func (s *change) bindVisits(m *cohort.Model) error {
	a := s.plan
	var labels, names []string
	switch {
	case (a.Visit == nil) == (len(a.Windows) == 0):
		return m.Plan.Fault(a.Position, "", fmt.Sprintf("analysis %q has windows and visit, or neither, expected one of them", a.ID.Value))
	case a.Visit != nil:
		v, err := levelled(m, s.table, *a.Visit)
		if err != nil {
			return err
		}
		s.named, s.visit = &v, v
		if a.Baseline.Value != nil {
			names, labels = v.Levels(), v.LevelLabels()
			break
		}
		at, err := m.Level(v, a.Baseline.Visit)
		if err != nil {
			return err
		}
		names, labels = v.Levels()[at:], v.LevelLabels()[at:]
		s.skipped = v.Levels()[:at]
		if len(names) < 2 {
			return a.Baseline.Visit.Errorf(1, 1, "", "%q is the last level of %q, expected a visit after the baseline", a.Baseline.Visit.Value, v.Name)
		}
	default:
		s.visit = cohort.Variable{Table: s.table, Name: visitName, Label: "Visit"}
		for i, w := range a.Windows {
			one := visitWindow{w.From, w.To, (w.From + w.To) / 2}
			if w.Target != nil {
				one.target = *w.Target
			}
			switch {
			case !(one.from <= one.to):
				return m.Plan.Fault(w.Position, "", fmt.Sprintf("window %q is from %v to %v, expected from before to", w.Label.Value, w.From, w.To))
			case one.target < one.from || one.target > one.to:
				return m.Plan.Fault(w.Position, "", fmt.Sprintf("target %v of window %q, expected a day from %v to %v", one.target, w.Label.Value, w.From, w.To))
			case i > 0 && one.from <= s.windows[i-1].to:
				return m.Plan.Fault(w.Position, "", fmt.Sprintf("window %q begins on day %v, but %q lasts to day %v, expected windows in order that share no day", w.Label.Value, w.From, names[i-1], s.windows[i-1].to))
			case slices.Contains(names, w.Label.Value):
				return w.Label.Errorf(1, 1, "", "label %q stands twice among the windows", w.Label.Value)
			}
			s.windows, names = append(s.windows, one), append(names, w.Label.Value)
		}
		labels = names
		if a.Baseline.Value != nil {
			break
		}
		name := a.Baseline.Visit
		switch at := slices.Index(names, name.Value); {
		case at < 0:
			return name.Errorf(1, 1, document.Nearest(name.Value, names), "%q is no window, expected one of %s", name.Value, strings.Join(names, ", "))
		case at > 0:
			return name.Errorf(1, 1, "", "%q is not the first window, expected the baseline before the others", name.Value)
		case len(names) < 2:
			return name.Errorf(1, 1, "", "%q is the only window, expected a visit after the baseline", name.Value)
		}
	}
	if a.Baseline.Value != nil {
		if err := s.bindBaseline(m, &names, &labels); err != nil {
			return err
		}
	}
	if s.value.Name == s.visit.Name || s.value.Name == baselineName {
		return a.Value.Errorf(1, 1, "", "value %q has a name of the analysis itself, expected another", s.value.Name)
	}
	s.visit.Kind, s.visit.Ordered, s.visit.Words, s.visit.Labels = value.Text, true, names, labels
	return nil
}

// bindBaseline finds a baseline outside the visits, which stands before them.
func (s *change) bindBaseline(m *cohort.Model, names, labels *[]string) error {
	b := s.plan.Baseline
	var err error
	if s.start, err = m.Expression(s.table, *b.Value, value.Number); err != nil {
		return err
	}
	// A change is their difference: scales that are never pooled are refused.
	difference := *b.Value
	difference.Value = fmt.Sprintf("(%s) - %s", b.Value.Value, s.value.Name)
	if _, err := m.Expression(s.table, difference, value.Number); err != nil {
		return err
	}
	if table, name, ok := oneVariable(b.Value.Value, s.table); ok {
		if v, err := m.Variable(table, document.String{Value: name, Position: b.Value.Position}); err == nil && v.Unit != s.value.Unit && v.Unit != "" && s.value.Unit != "" {
			return b.Value.Errorf(1, 1, "", "%q is in %s, but %q in %s, expected one unit", b.Value.Value, v.Unit, s.value.Name, s.value.Unit)
		}
	}
	if b.Day != nil {
		if s.from, err = m.Expression(s.table, *b.Day, value.Number); err != nil {
			return err
		}
	}
	label := b.Label
	if label == "" {
		label = "Baseline"
	}
	if slices.Contains(*names, label) || slices.Contains(*labels, label) {
		return m.Plan.Fault(b.Position, "", fmt.Sprintf("the baseline is named %q as a visit is, expected another label", label))
	}
	*names, *labels = append([]string{label}, *names...), append([]string{label}, *labels...)
	if s.windows != nil {
		s.windows = append([]visitWindow{{nan, nan, nan}}, s.windows...) // no visit is in it
	}
	return nil
}

var variablePattern = regexp.MustCompile(`^(?:([A-Za-z_]\w*)\.)?([A-Za-z_]\w*)$`)

// oneVariable is the variable of an expression that is nothing else.
func oneVariable(expression, own string) (table, name string, ok bool) {
	m := variablePattern.FindStringSubmatch(expression)
	if m == nil {
		return "", "", false
	}
	if m[1] != "" {
		own = m[1]
	}
	return own, m[2], true
}

// bindGroups finds the groups and the model.
func (s *change) bindGroups(m *cohort.Model) error {
	a := s.plan
	taken := []string{s.visit.Name, baselineName, s.value.Name}
	if a.By == nil {
		switch {
		case a.Reference != nil:
			return a.Reference.Errorf(1, 1, "", "a reference without by, expected by beside it")
		case a.Model != nil:
			return m.Plan.Fault(a.Model.Position, "", "a model without by: there are no groups to compare, expected by beside it")
		case len(a.Adjust) > 0:
			return a.Adjust[0].Errorf(1, 1, "", "adjust without by: there are no groups to compare, expected by beside it")
		}
		return nil
	}
	v, err := levelled(m, s.table, *a.By)
	if err != nil {
		return err
	}
	if slices.Contains(taken, v.Name) {
		return a.By.Errorf(1, 1, "", "groups by %q, which is a name of the analysis itself, expected another variable", v.Name)
	}
	taken = append(taken, v.Name)
	s.by = &term{variable: v}
	if a.Reference != nil {
		if s.by.reference, err = m.Level(v, *a.Reference); err != nil {
			return err
		}
		s.by.written = true
	}
	var references document.Ordered[document.String]
	if p := a.Model; p != nil {
		references = p.Reference
		if p.Working != "" {
			s.working = stats.WorkingCorrelation(p.Working)
		}
		s.reduced, s.student = p.Errors == biasReducedErrors, p.Limits == string(stats.ReferenceClusters)
	}
	var names []string
	for _, name := range a.Adjust {
		if slices.Contains(taken, name.Value) {
			return name.Errorf(1, 1, "", "%q is in the model already", name.Value)
		}
		t, err := bindTerm(m, s.table, name, references)
		if err != nil {
			return err
		}
		s.adjust = append(s.adjust, t)
		taken, names = append(taken, name.Value), append(names, name.Value)
	}
	return checkReferences(m, references, names)
}

func (s *change) bindThreshold(m *cohort.Model) error {
	p := s.plan.Threshold
	if p == nil {
		return nil
	}
	given := 0
	for _, x := range []*float64{p.Change, p.Percent, p.Value} {
		if x != nil {
			given++
		}
	}
	if given != 1 {
		return m.Plan.Fault(p.Position, "", fmt.Sprintf("a threshold has %d of change, percent and value, expected exactly one", given))
	}
	for i, t := range p.At {
		if t < 0 || i > 0 && t <= p.At[i-1] {
			return m.Plan.Fault(p.Position, "", fmt.Sprintf("times %v, expected ascending times from 0 on", p.At))
		}
	}
	s.threshold = &threshold{plan: p, seed: 1, replicates: betweenDraws, end: nan}
	if f := m.Package.Resource(s.table).Schema.Field(s.value.Name); f != nil {
		end := f.Constraints.Maximum
		if p.Direction == lowerWord {
			end = f.Constraints.Minimum
		}
		if end != nil {
			s.threshold.end = end.Number
		}
	}
	if p.Seed != nil {
		s.threshold.seed = *p.Seed
	}
	if p.Replicates != nil {
		s.threshold.replicates = *p.Replicates
	}
	level, _ := m.Plan.Confidence()
	if least := stats.LeastReplicates(level); s.threshold.replicates < least {
		return m.Plan.Fault(p.Position, "", fmt.Sprintf("%d replicates, expected at least %d for limits at %g", s.threshold.replicates, least, level))
	}
	return nil
}
