package run

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// The families of the model of an outcome, as the plan names them.
const (
	logisticFamily        = "logistic"
	firthFamily           = "firth"
	modifiedPoissonFamily = "modified-poisson"
	logBinomialFamily     = "log-binomial"
	marginalFamily        = "marginal"
	conditionalFamily     = "conditional"
	proportionalFamily    = "proportional-odds"
	linearFamily          = "linear"
)

const (
	biasReducedErrors = "bias-reduced"
	profileLimits     = "profile"
	scoreLimits       = "score"
)

// An outcomeModel is how an outcome is modelled.
type outcomeModel struct {
	written         bool // the plan has a model
	family, working string
	errors, limits  string // "" where there is no choice
	errorsWritten   bool
	limitsWritten   bool
	interact        []int // of the terms, the exposure being 0
	marginal        bool
	sets            *cohort.Variable
}

// measure is the ratio that the model estimates, "" for coefficients alone.
func (o *outcomeModel) measure() string {
	switch o.family {
	case modifiedPoissonFamily, logBinomialFamily:
		return "risk ratio"
	case linearFamily:
		return ""
	}
	return "odds ratio"
}

// bindModel checks the choices of the model against each other.
func (s *association) bindModel(m *cohort.Model, a *plan.Association) error {
	o := &s.fitting
	o.family = logisticFamily
	p := a.Model
	if p == nil {
		if s.cluster != nil {
			o.errors, o.limits = string(stats.CR1), string(stats.ReferenceNormal)
		}
		return nil
	}
	o.written, o.marginal = true, p.Marginal
	if p.Family != "" {
		o.family = p.Family
	}
	fault := func(text string, values ...any) error {
		return m.Plan.Fault(p.Position, "", fmt.Sprintf(text, values...))
	}
	switch {
	case o.family == marginalFamily && s.cluster == nil:
		return fault("family marginal without cluster, expected the variable of the clusters")
	case o.family == firthFamily && s.cluster != nil:
		return fault("family firth beside cluster: its penalty has none, expected one of them")
	case o.family == conditionalFamily && (s.cluster != nil || o.marginal):
		return fault("family conditional beside cluster or marginal risks: what a set has in common has no estimate in it")
	case (o.family == conditionalFamily) != (p.Sets != nil):
		return fault("sets and family conditional go together, expected both or neither")
	case p.Working != "" && o.family != marginalFamily:
		return fault("working goes with family marginal, expected none beside %s", o.family)
	case o.marginal && s.graded:
		return fault("marginal risks of family %s, whose outcome is not yes or no", o.family)
	case p.Spline != nil && o.family == linearFamily:
		return fault("spline goes with the families of ratios, expected none beside linear")
	case o.marginal && s.exposure.variable.Levels() == nil:
		return fault("marginal risks of exposure %q, which is a number, expected one with levels", s.exposure.variable.Name)
	}
	if o.family == marginalFamily {
		o.working, o.errors = string(stats.Exchangeable), string(stats.CR0)
		if p.Working != "" {
			o.working = p.Working
		}
	} else if s.cluster != nil {
		o.errors = string(stats.CR1)
	}
	if s.cluster != nil {
		o.limits = string(stats.ReferenceNormal)
	}
	if p.Sets != nil {
		v, err := m.Variable(s.table, *p.Sets)
		if err != nil {
			return err
		}
		o.sets = &v
	}
	if e := p.Errors; e != nil {
		switch marginal := o.family == marginalFamily; {
		case s.cluster == nil:
			return e.Errorf(1, 1, "", "errors %s without cluster, expected the variable of the clusters", e.Value)
		case marginal && e.Value != string(stats.CR0) && e.Value != biasReducedErrors:
			return e.Errorf(1, 1, "", "errors %s of family marginal, expected CR0 or bias-reduced", e.Value)
		case o.family == proportionalFamily && e.Value != string(stats.CR0) && e.Value != string(stats.CR1):
			return e.Errorf(1, 1, "", "errors %s of family %s, expected CR0 or CR1", e.Value, o.family)
		case !marginal && e.Value == biasReducedErrors:
			return e.Errorf(1, 1, "", "errors bias-reduced of family %s, expected CR0 to CR3", o.family)
		}
		o.errors, o.errorsWritten = e.Value, true
	}
	if l := p.Limits; l != nil {
		switch {
		case (l.Value == profileLimits || l.Value == scoreLimits) && (o.family != logisticFamily || s.cluster != nil):
			return l.Errorf(1, 1, "", "limits %s go with family logistic without cluster, expected another word", l.Value)
		case o.family == proportionalFamily && l.Value != string(stats.ReferenceNormal):
			return l.Errorf(1, 1, "", "limits %s of family %s, expected normal", l.Value, o.family)
		case l.Value != profileLimits && l.Value != scoreLimits && s.cluster == nil && l.Value != string(stats.ReferenceNormal):
			return l.Errorf(1, 1, "", "limits %s without cluster, expected the variable of the clusters", l.Value)
		case l.Value == string(stats.ReferenceSatterthwaite) && o.family == marginalFamily:
			return l.Errorf(1, 1, "", "limits satterthwaite of family marginal, expected normal or clusters")
		}
		o.limits, o.limitsWritten = l.Value, true
	}
	terms := []*term{&s.exposure}
	for i := range s.adjust {
		terms = append(terms, &s.adjust[i])
	}
	if err := bindSplines(m, terms, p.Spline); err != nil {
		return err
	}
	for _, name := range p.Interact {
		at := slices.IndexFunc(s.adjust, func(t term) bool { return t.variable.Name == name.Value })
		names := termNames(s.adjust)
		switch {
		case at < 0:
			return name.Errorf(1, 1, document.Nearest(name.Value, names), "interaction with %q, expected a variable of adjust: %s", name.Value, strings.Join(names, ", "))
		case slices.Contains(o.interact, at+1):
			return name.Errorf(1, 1, "", "%q stands twice in interact", name.Value)
		}
		o.interact = append(o.interact, at+1)
	}
	return nil
}

// model adds the model of the outcome.
func (s *association) model(b *builder, t *dataset.Table) error {
	o := &s.fitting
	if b.Methods != "" {
		b.Methods += " "
	}
	if o.written {
		b.set("family", o.family, o.family != logisticFamily)
	}
	if s.cluster != nil {
		b.set("cluster", s.cluster.Name, true)
	} else {
		b.set("cluster", "none: rows taken as independent", false)
	}
	switch o.family {
	case logisticFamily:
		b.Methods += "Odds ratios of the model come from logistic regression by maximum likelihood on rows complete in all its variables, with "
		switch o.limits {
		case profileLimits:
			b.Methods += "profile likelihood limits"
			b.cite("Venzon 1988")
		case scoreLimits:
			b.Methods += "score limits"
			b.cite("Cox 1974")
		default:
			b.Methods += "Wald limits"
		}
		b.cite("Hosmer 2000")
	case firthFamily:
		b.Methods += "Odds ratios of the model come from logistic regression by Firth's penalised likelihood on rows complete in all its variables, with profile limits"
		b.cite("Firth 1993", "Heinze 2002")
	case modifiedPoissonFamily:
		b.Methods += "Risk ratios of the model come from modified Poisson regression on rows complete in all its variables, with Wald limits"
		b.cite("Zou 2004")
	case logBinomialFamily:
		b.Methods += "Risk ratios of the model come from log-binomial regression by maximum likelihood on rows complete in all its variables, with Wald limits"
		b.cite("Wacholder 1986")
	case proportionalFamily:
		b.Methods += "Odds ratios of a higher category of " + lowerLabel(s.outcome) + " come from proportional odds regression by maximum likelihood on rows complete in all its variables, with Wald limits; the score test is of the odds ratios being the same at every category"
		b.cite("McCullagh 1980", "Peterson 1990")
	case linearFamily:
		b.Methods += "Differences of the mean of " + lowerLabel(s.outcome) + " come from linear regression by least squares on rows complete in all its variables, with limits by Student's t"
		b.cite("Draper 1981")
	case conditionalFamily:
		b.set("sets", o.sets.Name, true)
		b.Methods += "Odds ratios of the model come from logistic regression conditional on the matched sets of " + lowerLabel(*o.sets) + ", on rows complete in all its variables, with Wald limits"
		b.cite("Breslow 1980", "Gail 1981")
	case marginalFamily:
		b.set("working correlation", o.working, o.working != string(stats.Exchangeable))
		b.Methods += "Odds ratios of the population come from generalised estimating equations with " + map[string]string{"exchangeable": "an exchangeable", "independence": "an independence"}[o.working] +
			" working correlation on rows complete in all their variables, with Wald limits"
		b.cite("Liang 1986")
	}
	if s.cluster != nil {
		errors := o.errors
		if errors == string(stats.CR1) {
			errors = "factor G/(G−1)"
		}
		b.set("robust errors", errors, o.errorsWritten)
		b.Methods += " from errors that are robust to dependence within " + s.cluster.Label + errorSentences[o.errors]
		b.cite("Liang 1986")
		switch o.errors {
		case string(stats.CR2):
			b.cite("Bell 2002")
		case string(stats.CR3), biasReducedErrors:
			b.cite("Mancl 2001")
		}
		if o.written {
			b.set("limits of the model", o.limits, o.limitsWritten)
		}
		switch o.limits {
		case string(stats.ReferenceClusters):
			b.Methods += " and the t distribution with as many degrees of freedom as there are clusters more than coefficients"
		case string(stats.ReferenceSatterthwaite):
			b.Methods += " and the t distribution with Satterthwaite's degrees of freedom"
			b.cite("Bell 2002")
		}
	} else if o.limits == profileLimits || o.limits == scoreLimits {
		b.set("limits of the model", o.limits, true)
	}
	b.Methods += "."
	if s.graded && len(s.adjust) > 0 { // what the crude table is to yes and no
		crude := *s
		crude.adjust, crude.fitting.interact = nil, nil
		if err := crude.fitOutcome(b, t, "model"); err != nil {
			return err
		}
	}
	return s.fitOutcome(b, t, s.modelPart())
}

// fitOutcome adds the rows of the model of the outcome.
func (s *association) fitOutcome(b *builder, t *dataset.Table, part string) error {
	o := &s.fitting
	terms := append([]term{s.exposure}, s.adjust...)
	usable := make([]bool, t.Len())
	outcome := t.Column(s.outcome.Name)
	for i := range usable {
		usable[i] = !outcome.Value(i).Missing
	}
	var ids []int
	if s.cluster != nil {
		var known []bool
		ids, known = clusters(t.Column(s.cluster.Name), t.Len())
		for i := range usable {
			usable[i] = usable[i] && known[i]
		}
	}
	var sets []int
	if o.sets != nil {
		var known []bool
		sets, known = clusters(t.Column(o.sets.Name), t.Len())
		for i := range usable {
			usable[i] = usable[i] && known[i]
		}
	}
	d, err := newDesign(terms, tableValues(t, terms), usable)
	if err == nil {
		err = d.interact(terms, o.interact)
	}
	if err != nil {
		b.fit(part, o.measure(), nil, stats.Fit{}, err)
		return nil
	}
	b.removed("rows", "incomplete: not in the "+part+" model", float64(t.Len()-len(d.rows)))
	y := make([]value.Value, len(d.rows))
	var cluster, set []int
	for r, i := range d.rows {
		y[r] = outcome.Value(i)
		if sets != nil {
			set = append(set, sets[i])
		}
		if ids != nil {
			cluster = append(cluster, ids[i])
		}
	}
	splineSettings(b, terms)
	f, alpha, err := s.fitFamily(d, y, cluster, set, b.level)
	b.fit(part, o.measure(), d, f, err)
	if o.family == marginalFamily && err == nil {
		r := b.row(part, "working correlation")
		r.N = result.Number(f.N)
		b.add(number(r, alpha, "not estimated"))
	}
	for _, k := range o.interact {
		v := terms[k].variable
		r := b.row(part, "test of interaction")
		r.Variable = v.Name
		if err != nil {
			r.Reason = err.Error()
			b.add(r)
			continue
		}
		b.shapeTest(r, f.JointTest("", d.coefficients(f, interaction(s.exposure.variable, v))), f.N)
	}
	shapeRows(b, "shapes", terms, o.measure(), d, f, err)
	if part != "control" {
		s.checks(b, d, y, cluster, f, err)
	}
	if o.marginal && part != "control" {
		s.marginalRisks(b, d, f, err)
	}
	return nil
}

// options are those of the generalised linear models.
func (o *outcomeModel) options(cluster []int, level float64) stats.GLMOptions {
	opts := stats.GLMOptions{Level: level, Cluster: cluster}
	if cluster != nil && o.family != marginalFamily {
		opts.Robust, opts.Reference = stats.RobustForm(o.errors), stats.RobustReference(o.limits)
	}
	return opts
}

// fitFamily fits the model of the family.
func (s *association) fitFamily(d *design, outcome []value.Value, cluster, set []int, level float64) (f stats.Fit, alpha float64, err error) {
	o := &s.fitting
	alpha = math.NaN()
	if s.graded {
		f, err = s.fitGraded(d, outcome, cluster, level)
		return f, alpha, err
	}
	y := yesOf(outcome)
	opts := o.options(cluster, level)
	switch o.family {
	case firthFamily:
		f, err = stats.FitFirth(d.x, d.names(), y, stats.FirthOptions{Level: level})
	case conditionalFamily:
		f, err = stats.FitConditionalLogistic(d.x, d.names(), y, set, stats.ConditionalOptions{Level: level})
	case modifiedPoissonFamily:
		f, err = stats.FitModifiedPoisson(d.x, d.names(), y, opts)
	case logBinomialFamily:
		f, err = stats.FitLogBinomial(d.x, d.names(), y, opts)
	case marginalFamily:
		counts := make([]float64, len(y))
		for i, yes := range y {
			if yes {
				counts[i] = 1
			}
		}
		var g stats.GEEFit
		g, err = stats.FitGEE(d.x, d.names(), counts, nil, stats.GEEOptions{
			Family: stats.GEEBinomial, Correlation: stats.WorkingCorrelation(o.working), Cluster: cluster, Level: level,
			BiasReduced: o.errors == biasReducedErrors, StudentT: o.limits == string(stats.ReferenceClusters),
		})
		f, alpha = g.Fit, g.Correlation
	default:
		f, err = stats.FitLogistic(d.x, d.names(), y, opts)
		switch {
		case err != nil:
		case o.limits == profileLimits:
			f.Estimates, err = stats.LogisticProfile(d.x, d.names(), y, opts)
		case o.limits == scoreLimits:
			f.Estimates, err = stats.LogisticScore(d.x, d.names(), y, opts)
		}
	}
	return f, alpha, err
}

// marginalRisks adds the risks were everybody at each level of the exposure,
// and what compares them.
func (s *association) marginalRisks(b *builder, d *design, f stats.Fit, fitErr error) {
	b.Methods += " Marginal risks are those that the model predicts were everybody at the level, averaged over the rows of the model, with limits by the delta method."
	b.cite("Lane 1982", "Greenland 2004")
	levels, reference := s.exposure.variable.Levels(), s.exposure.reference
	row := func(measure, term string) result.Row {
		r := b.row("marginal", measure)
		r.Variable, r.Term = s.exposure.variable.Name, term
		return r
	}
	if fitErr != nil {
		r := row("marginal risk", levels[reference])
		r.Reason = fitErr.Error()
		b.add(r)
		return
	}
	opts := stats.MarginalOptions{Level: b.level}
	zero := d.everybodyAt(s.exposure, reference)
	for l, level := range levels {
		if l != reference && !slices.Contains(d.columns, coefficient{s.exposure.variable.Name, level}) {
			continue // no row has it
		}
		one := d.everybodyAt(s.exposure, l)
		e, err := stats.MarginalRisk(f, one, opts)
		b.add(b.estimate(row("marginal risk", level), e, err))
		if l == reference {
			continue
		}
		against := level + " vs " + levels[reference]
		e, err = stats.MarginalRiskRatio(f, one, zero, opts)
		b.add(b.estimate(row("marginal risk ratio", against), e, err))
		e, err = stats.MarginalRiskDifference(f, one, zero, opts)
		b.add(b.estimate(row("marginal risk difference", against), e, err))
	}
}

// modelPart is the part of the model's rows.
func (s *association) modelPart() string {
	if len(s.adjust) == 0 {
		return "model"
	}
	return "adjusted"
}

// tableValues are the values of each term's variable.
func tableValues(t *dataset.Table, terms []term) [][]value.Value {
	values := make([][]value.Value, len(terms))
	for k, m := range terms {
		c := t.Column(m.variable.Name)
		values[k] = make([]value.Value, t.Len())
		for i := range values[k] {
			values[k][i] = c.Value(i)
		}
	}
	return values
}
