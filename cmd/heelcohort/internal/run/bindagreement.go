package run

import (
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// agreement is an analysis of kind agreement.
type agreement struct {
	plan             *plan.Agreement
	participants     string
	table            string
	ratings          []cohort.Variable // by rater, of one row; of long form the one with the value
	rater            *cohort.Variable  // of long form
	subject          []cohort.Variable
	cluster          *cohort.Variable
	weights          stats.KappaWeights
	model            stats.ICCModel
	seed, replicates int
	few              int
}

// weightWords and modelWords are the words of the plan.
var (
	weightWords = map[string]stats.KappaWeights{"": stats.Unweighted, "unweighted": stats.Unweighted, "linear": stats.LinearWeights, "quadratic": stats.QuadraticWeights}
	modelWords  = map[string]stats.ICCModel{"one-way": stats.OneWay, "two-way-agreement": stats.TwoWayAgreement, "two-way-consistency": stats.TwoWayConsistency}
)

// numbers reports whether what is rated are numbers, not categories.
func (s *agreement) numbers() bool { return s.ratings[0].Levels() == nil }

func bindAgreement(m *cohort.Model, a *plan.Agreement) (job, error) {
	s := &agreement{plan: a, participants: m.Participants, seed: 1, replicates: stats.DefaultReplicates, few: 5}
	var err error
	if s.table, err = tableOf(m, a.Table); err != nil {
		return nil, err
	}
	names := a.Ratings
	switch {
	case (a.Raters == nil) == (len(a.Ratings) == 0):
		return nil, m.Plan.Fault(a.Position, "", fmt.Sprintf("analysis %q has ratings and raters, or neither, expected one of them", a.ID.Value))
	case a.Raters != nil:
		names = document.OneOrMore[document.String]{a.Raters.Value}
		if err := s.bindRaters(m, a.Raters); err != nil {
			return nil, err
		}
	case len(a.Ratings) < 2:
		return nil, a.Ratings[0].Errorf(1, 1, "", "only one variable among ratings, expected one for each of at least two raters")
	}
	for i, name := range names {
		v, err := s.bindRating(m, name)
		if err != nil {
			return nil, err
		}
		for _, other := range names[:i] {
			if other.Value == name.Value {
				return nil, name.Errorf(1, 1, "", "%q stands twice among ratings", name.Value)
			}
		}
		s.ratings = append(s.ratings, v)
	}
	if a.Cluster != nil {
		v, err := m.Variable(s.table, *a.Cluster)
		if err != nil {
			return nil, err
		}
		s.cluster = &v
	}
	return s, s.bindMethods(m)
}

// bindRaters finds the variables of long form.
func (s *agreement) bindRaters(m *cohort.Model, r *plan.Raters) error {
	v, err := m.Variable(s.table, r.Variable)
	if err != nil {
		return err
	}
	s.rater = &v
	used := []string{r.Variable.Value, r.Value.Value}
	for _, name := range r.Subject {
		v, err := m.Variable(s.table, name)
		if err != nil {
			return err
		}
		if slices.Contains(used, name.Value) {
			return name.Errorf(1, 1, "", "%q stands twice among the variables of raters", name.Value)
		}
		used = append(used, name.Value)
		s.subject = append(s.subject, v)
	}
	if len(r.Subject) == 0 {
		return m.Plan.Fault(r.Position, "", "raters without subject, expected the variables that name what was rated")
	}
	if r.Variable.Value == r.Value.Value {
		return r.Value.Errorf(1, 1, "", "%q is the rater and the rating", r.Value.Value)
	}
	return nil
}

// bindRating finds a variable with ratings, alike with those before.
func (s *agreement) bindRating(m *cohort.Model, name document.String) (cohort.Variable, error) {
	v, err := m.Variable(s.table, name)
	if err != nil {
		return v, err
	}
	if v.Levels() == nil && v.Kind != value.Number {
		return v, name.Errorf(1, 1, "", "%q is a %v without categories, expected numbers, a boolean or a variable with categories", v.Name, v.Kind)
	}
	if len(s.ratings) > 0 && !slices.Equal(v.Levels(), s.ratings[0].Levels()) {
		return v, name.Errorf(1, 1, "", "%q does not have the categories of %q, expected ratings on one scale", v.Name, s.ratings[0].Name)
	}
	if len(s.ratings) > 0 && v.Unit != s.ratings[0].Unit {
		return v, name.Errorf(1, 1, "", "%q is in %q and %q in %q, expected ratings in one unit", v.Name, v.Unit, s.ratings[0].Name, s.ratings[0].Unit)
	}
	return v, nil
}

// bindMethods checks the words that say how, against what is rated.
func (s *agreement) bindMethods(m *cohort.Model) error {
	a, first := s.plan, s.ratings[0]
	fault := func(format string, args ...any) error {
		return m.Plan.Fault(a.Position, "", fmt.Sprintf("analysis %q ", a.ID.Value)+fmt.Sprintf(format, args...))
	}
	var ok bool
	switch numbers := s.numbers(); {
	case numbers && a.Model == "":
		return fault("has no model, expected one-way, two-way-agreement or two-way-consistency: the intraclass correlations differ and none is meant by default")
	case numbers && a.Weights != "":
		return fault("has weights, expected them of categories only: %q are numbers", first.Name)
	case !numbers && (a.Model != "" || a.Coverage != nil || a.Limits != "" || a.Points || a.Few != nil):
		return fault("has model, coverage, limits, points or few, expected them of numbers only: %q has categories", first.Name)
	case !numbers && len(first.Levels()) < 2:
		return fault("rates %q, which has one category, expected at least two", first.Name)
	case numbers:
		s.model = modelWords[a.Model]
	default:
		if s.weights, ok = weightWords[a.Weights]; !ok {
			panic("run: no weights " + a.Weights)
		}
		if s.weights != stats.Unweighted && !first.Ordered {
			return fault("has %s weights, but the codebook does not say that the categories of %q are ordered (categoriesOrdered)", a.Weights, first.Name)
		}
	}
	if a.Coverage != nil && *a.Coverage >= 1 {
		return fault("has a coverage of %g, expected a share below 1 such as 0.95", *a.Coverage)
	}
	if s.cluster != nil && a.Limits != "" {
		return fault("has limits and cluster, expected one of them: with a cluster limits are by the bootstrap")
	}
	if s.cluster == nil && (a.Seed != nil || a.Replicates != nil) {
		return fault("has a seed or replicates without cluster: nothing is random")
	}
	if a.Few != nil {
		s.few = *a.Few
	}
	if a.Seed != nil {
		s.seed = *a.Seed
	}
	if a.Replicates != nil {
		s.replicates = *a.Replicates
	}
	level, _ := m.Plan.Confidence()
	if least := stats.LeastReplicates(level); s.replicates < least {
		return fault("has %d replicates, expected at least %d for limits at %g", s.replicates, least, level)
	}
	return nil
}
