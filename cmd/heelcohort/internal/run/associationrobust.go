package run

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// robustChoices are the plan's questions about what could be wrong with an
// association.
type robustChoices struct {
	unmeasured string // how frequent the outcome is: rare or common; "" does not ask
	rating     *plan.Misclassification
	bias       stats.BiasAnalysis
	control    *cohort.Variable
}

// bindRobustness checks the questions.
func (s *association) bindRobustness(m *cohort.Model, a *plan.Association) error {
	s.robust.unmeasured = a.Unmeasured
	if a.NegativeControl != nil {
		v, err := m.Variable(s.table, *a.NegativeControl)
		switch {
		case err != nil:
			return err
		case v.Kind != value.Bool:
			return a.NegativeControl.Errorf(1, 1, "", "negative control %q is a %v, expected a boolean", v.Name, v.Kind)
		case v.Name == s.outcome.Name:
			return a.NegativeControl.Errorf(1, 1, "", "%q is the outcome itself, expected another variable", v.Name)
		}
		s.robust.control = &v
	}
	r := a.Misclassification
	if r == nil {
		return nil
	}
	if s.exposure.variable.Levels() == nil {
		return m.Plan.Fault(r.Position, "", fmt.Sprintf("misclassification of %q, which is a number, expected an exposure with levels", s.exposure.variable.Name))
	}
	if r.Others == nil && r.Correlation != 0 {
		return m.Plan.Fault(r.Position, "", "correlation goes with others, expected beliefs for those without the outcome")
	}
	s.robust.rating = r
	b := stats.BiasAnalysis{
		Cases: stats.ClassificationBelief{Sensitivity: distribution(r.Sensitivity), Specificity: distribution(r.Specificity)},
		Seed:  1, Correlation: r.Correlation,
	}
	if r.Others != nil {
		b.Others = &stats.ClassificationBelief{Sensitivity: distribution(r.Others.Sensitivity), Specificity: distribution(r.Others.Specificity)}
	}
	if r.Draws != nil {
		b.Draws = *r.Draws
	}
	if r.Seed != nil {
		b.Seed = uint64(*r.Seed)
	}
	s.robust.bias = b
	return nil
}

// distribution is the distribution of a belief.
func distribution(b plan.Belief) stats.BiasDistribution {
	switch {
	case b.Uniform != nil:
		return stats.UniformBelief(b.Uniform[0], b.Uniform[1])
	case b.Triangular != nil:
		return stats.TriangularBelief(b.Triangular[0], b.Triangular[1], b.Triangular[2])
	case b.Trapezoidal != nil:
		return stats.TrapezoidalBelief(b.Trapezoidal[0], b.Trapezoidal[1], b.Trapezoidal[2], b.Trapezoidal[3])
	case b.Beta != nil:
		return stats.BetaBelief(b.Beta[0], b.Beta[1])
	}
	return stats.Known(*b.Known)
}

// robustness answers the plan's questions.
func (s *association) robustness(b *builder, t *dataset.Table) error {
	if s.robust.unmeasured != "" {
		s.confounding(b)
	}
	if s.robust.rating != nil {
		s.misclassified(b, t)
	}
	if s.robust.control != nil {
		return s.negativeControl(b, t)
	}
	return nil
}

// confounding adds, for each odds ratio of the exposure, adjusted where there is
// a model, how strong a confounder must be to explain it away.
func (s *association) confounding(b *builder) {
	scale, sentence := stats.RareOddsRatio, "odds ratios being taken for risk ratios, the outcome being rare"
	if s.robust.unmeasured == "common" {
		scale, sentence = stats.CommonOddsRatio, "the square root of an odds ratio being taken for a risk ratio, the outcome being common"
	}
	b.set("unmeasured", s.robust.unmeasured, true)
	b.Methods += " E-values are the least risk ratio that an unmeasured confounder must have with both exposure and outcome, beyond what is adjusted for, to explain an odds ratio, or its limit nearer 1, away, " + sentence + "."
	b.cite("VanderWeele 2017")
	rows := b.rows
	for _, part := range []string{"adjusted", "model", "crude"} {
		found := false
		for _, of := range rows {
			if of.Part != part || of.Measure != "odds ratio" && of.Measure != "risk ratio" || part == "crude" && of.Measure != "odds ratio" || of.Variable != s.exposure.variable.Name {
				continue
			}
			found = true
			row := func(measure string) result.Row {
				r := b.row("confounding", measure)
				r.Variable, r.Term = of.Variable, of.Term
				return r
			}
			if !of.Estimate.Present() {
				r := row("E-value")
				r.Reason = of.Reason
				b.add(r)
				continue
			}
			if math.IsInf(float64(of.Estimate), 0) {
				r := row("E-value")
				r.Reason = "the " + of.Measure + " is unbounded"
				b.add(r)
				continue
			}
			scale := scale
			if of.Measure == "risk ratio" {
				scale = stats.RiskRatioScale
			}
			e, err := stats.EValue(scale, float64(of.Estimate), float64(of.Lower), float64(of.Upper))
			if err != nil {
				r := row("E-value")
				r.Reason = err.Error()
				b.add(r)
				continue
			}
			b.add(number(row("E-value"), e.Value, "not defined"))
			b.add(number(row("E-value of the limit"), e.Limit, "the odds ratio has no limits"))
		}
		if found {
			return
		}
	}
}

// misclassified adds the crude odds ratios corrected for the errors of rating
// that are believed.
func (s *association) misclassified(b *builder, t *dataset.Table) {
	opts := s.robust.bias
	opts.Level = b.level
	b.set("seed of misclassification", strconv.FormatUint(opts.Seed, 10), s.robust.rating.Seed != nil)
	draws := opts.Draws
	if draws == 0 {
		draws = stats.DefaultDraws
	}
	b.set("draws of misclassification", strconv.Itoa(draws), s.robust.rating.Draws != nil)
	b.Methods += fmt.Sprintf(" Errors in rating %s are propagated to its crude odds ratios by %d draws from the declared distributions of sensitivity and specificity; the percentiles with systematic error alone and with random error added are given.", lowerLabel(s.exposure.variable), draws)
	b.cite("Barron 1977", "Lash 2009")
	levels := s.exposure.variable.Levels()
	outcome, exposure := t.Column(s.outcome.Name), t.Column(s.exposure.variable.Name)
	counts := make([][2]int, len(levels))
	for i := range t.Len() {
		level, known := levelText(exposure, i)
		if had := outcome.Value(i); known && !had.Missing {
			at := 1
			if had.Bool {
				at = 0
			}
			counts[slices.Index(levels, level)][at]++
		}
	}
	ref := counts[s.exposure.reference]
	for l, level := range levels {
		if l == s.exposure.reference {
			continue
		}
		r, err := stats.ProbabilisticBias(counts[l][0], counts[l][1], ref[0], ref[1], opts)
		for _, x := range []struct {
			measure string
			of      stats.BiasInterval
		}{{"odds ratio, systematic error", r.Systematic}, {"odds ratio, systematic and random error", r.Total}} {
			w := b.row("misclassification", x.measure)
			w.Variable, w.Term = s.exposure.variable.Name, level
			w.N, w.Events = result.Number(counts[l][0]+counts[l][1]+ref[0]+ref[1]), result.Number(counts[l][0]+ref[0])
			if err != nil {
				w.Reason = err.Error()
				b.add(w)
				continue
			}
			w.Estimate, w.Lower, w.Upper = result.Number(x.of.Median), result.Number(x.of.Lower), result.Number(x.of.Upper)
			w.Level, w.Method = result.Number(r.Level), fmt.Sprintf("median and percentiles of %d draws", r.Draws)
			for _, warning := range r.Warnings {
				w.Warnings = append(w.Warnings, warning.Text)
			}
			b.add(w)
		}
	}
}

// negativeControl fits the model for an outcome that the exposure cannot cause.
func (s *association) negativeControl(b *builder, t *dataset.Table) error {
	control := *s
	control.outcome = *s.robust.control
	b.name(control.outcome)
	b.set("negative control", control.outcome.Name, true)
	b.Methods += fmt.Sprintf(" The same model is fitted for %s, which the exposure cannot cause: an association there points to confounding or bias.", lowerLabel(control.outcome))
	b.cite("Lipsitch 2010")
	return control.fitOutcome(b, t, "control")
}
