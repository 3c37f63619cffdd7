package run

import (
	"context"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/dataset"
)

// A job is one analysis, checked and ready to be computed.
type job interface {
	// run computes the rows. An error is a failure of the program or an
	// interrupt; what the data do not bear is a row with a reason.
	run(ctx context.Context, c *cohort.Cohort, b *builder) error
}

// bind checks an analysis against the model.
func bind(m *cohort.Model, a plan.Analysis) (job, error) {
	switch a := a.(type) {
	case *plan.Describe:
		return bindDescribe(m, a)
	case *plan.Incidence:
		return bindIncidence(m, a)
	case *plan.Proportion:
		return bindProportion(m, a)
	case *plan.Association:
		return bindAssociation(m, a)
	case *plan.Paired:
		return bindPaired(m, a)
	case *plan.Multiplicity:
		return bindMultiplicity(m, a)
	case *plan.Recurrence:
		return bindRecurrence(m, a)
	case *plan.Change:
		return bindChange(m, a)
	case *plan.Agreement:
		return bindAgreement(m, a)
	case *plan.Burden:
		return bindBurden(m, a)
	case *plan.TimeToEvent:
		return bindTimeToEvent(m, a)
	}
	panic("run: an analysis of a kind without a job")
}

// tableOf is the table that an analysis names, the participants' by default.
func tableOf(m *cohort.Model, name *document.String) (string, error) {
	if name == nil {
		return m.Participants, nil
	}
	r, err := m.Resource(*name)
	if err != nil {
		return "", err
	}
	return r.Name, nil
}

// A builder gathers the rows of one analysis.
type builder struct {
	result.Analysis
	level float64
	rows  []result.Row
	found []dataset.Finding // located faults that only the analysis shows

	earlier []result.Row // of the analyses above
}

// set notes a choice that the numbers depend on.
func (b *builder) set(key, value string, written bool) {
	b.Settings = append(b.Settings, result.Setting{Key: key, Value: value, Written: written})
}

// removed accounts for what did not enter; nothing is not worth a line.
func (b *builder) removed(what, reason string, n float64) {
	if n > 0 {
		b.Accounting = append(b.Accounting, result.Removed{What: what, Reason: reason, N: result.Number(n)})
	}
}

// warn adds a warning once.
func (b *builder) warn(text string) {
	for _, w := range b.Warnings {
		if w == text {
			return
		}
	}
	b.Warnings = append(b.Warnings, text)
}

// name lists a variable with its levels, once.
func (b *builder) name(v cohort.Variable) {
	if _, known := b.Variable(v.Name); known {
		return
	}
	out := result.Variable{Name: v.Name, Label: v.Label, Unit: v.Unit}
	labels := v.LevelLabels()
	for i, word := range v.Levels() {
		out.Levels = append(out.Levels, result.Level{Value: word, Label: labels[i]})
	}
	for _, c := range v.Codes {
		out.Missing = append(out.Missing, result.Level{Value: c.Value, Label: c.Label})
	}
	b.Variables = append(b.Variables, out)
}

// groupName is a group before what is said of it, nothing over all.
func (b *builder) groupName(g []result.Group) string {
	if len(g) == 0 {
		return ""
	}
	v, _ := b.Variable(g[0].Variable)
	return v.Label + " " + b.LevelLabel(v.Name, g[0].Level) + ": "
}

// cite adds references once each.
func (b *builder) cite(keys ...string) {
	for _, key := range keys {
		known := false
		for _, r := range b.References {
			known = known || r.Key == key
		}
		if !known {
			b.References = append(b.References, result.Reference{Key: key, Text: reference(key)})
		}
	}
}
