package run

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// imputation is how the model is fitted again after multiple imputation.
type imputation struct {
	plan *plan.Imputation
	with []term
	opts stats.ImputeOptions
}

// bindImputation checks what is imputed against the model.
func (s *association) bindImputation(m *cohort.Model, a *plan.Association) error {
	p := a.Impute
	if p == nil {
		return nil
	}
	fault := func(text string, values ...any) error {
		return m.Plan.Fault(p.Position, "", fmt.Sprintf(text, values...))
	}
	o := &s.fitting
	terms := append([]term{s.exposure}, s.adjust...)
	switch {
	case len(s.adjust) == 0 && a.Model == nil && s.exposure.variable.Levels() != nil && s.cluster == nil:
		return fault("impute without a model, expected adjust or model beside it")
	case o.family == conditionalFamily || o.family == firthFamily:
		return fault("impute beside family %s, whose estimates are not pooled, expected another family", o.family)
	case slices.ContainsFunc(terms, func(t term) bool { return t.shape != nil }):
		return fault("impute beside a spline, whose knots would move with what is imputed, expected none")
	}
	s.impute = &imputation{plan: p, opts: stats.ImputeOptions{Imputations: 20, Cycles: 10, Seed: 1}}
	if p.Imputations != nil {
		s.impute.opts.Imputations = *p.Imputations
	}
	if p.Cycles != nil {
		s.impute.opts.Cycles = *p.Cycles
	}
	if p.Seed != nil {
		s.impute.opts.Seed = uint64(*p.Seed)
	}
	used := append([]string{s.outcome.Name}, termNames(terms)...)
	for _, name := range p.With {
		if slices.Contains(used, name.Value) {
			return name.Errorf(1, 1, "", "%q is imputed from already, expected another variable", name.Value)
		}
		used = append(used, name.Value)
		t, err := bindTerm(m, s.table, name, nil)
		if err != nil {
			return err
		}
		s.impute.with = append(s.impute.with, t)
	}
	return nil
}

// imputed adds the model after multiple imputation.
func (s *association) imputed(b *builder, t *dataset.Table) {
	i := s.impute
	if i == nil {
		return
	}
	terms := append([]term{s.exposure}, s.adjust...)
	b.set("imputations", strconv.Itoa(i.opts.Imputations), i.plan.Imputations != nil)
	b.set("cycles of imputation", strconv.Itoa(i.opts.Cycles), i.plan.Cycles != nil)
	b.set("seed of imputation", strconv.FormatUint(i.opts.Seed, 10), i.plan.Seed != nil)
	if i.with != nil {
		b.set("imputed from also", strings.Join(termNames(i.with), ", "), true)
	}
	for _, w := range i.with {
		b.name(w.variable)
	}
	b.Methods += fmt.Sprintf(" As a sensitivity analysis missing values of the model's variables are imputed %d times by chained equations (numbers by predictive mean matching with 5 donors, categories by multinomial logistic regression; %d cycles), "+
		"the rows whose outcome is known are modelled, and estimates are pooled by Rubin's rules with Barnard and Rubin's degrees of freedom. It holds if what is missing depends on what is observed only.",
		i.opts.Imputations, i.opts.Cycles)
	b.cite("Rubin 1987", "White 2011", "Barnard 1999")
	f, pooled, n, completed, err := s.pool(t, terms, b.level)
	if err != nil {
		r := b.row("imputed", "log likelihood")
		r.Reason = err.Error()
		b.add(r)
		return
	}
	r := b.row("imputed", "rows completed")
	r.N = result.Number(n)
	b.add(number(r, float64(completed), ""))
	for k, c := range f.columns {
		p := pooled[k]
		measure, e := s.fitting.measure(), p.Estimate
		if measure == "" {
			measure = "coefficient"
		} else {
			e.Value, e.Lower, e.Upper = math.Exp(e.Value), math.Exp(e.Lower), math.Exp(e.Upper)
		}
		r := b.row("imputed", measure)
		r.Variable, r.Term, r.N = c.variable, c.level, result.Number(n)
		b.add(b.estimate(r, e, nil))
		r = b.row("imputed", "fraction of missing information")
		r.Variable, r.Term = c.variable, c.level
		b.add(number(r, p.Missing, ""))
	}
}

// errLevels says that the columns of the model differ between data sets.
var errLevels = errors.New("a level has rows in some completed data sets only: join it to another or leave it out")

// pool imputes, fits the model to each completed data set and pools its
// coefficients.
func (s *association) pool(t *dataset.Table, terms []term, level float64) (d *design, pooled []stats.Pooled, n, completed int, err error) {
	all := append([]term{{variable: s.outcome}}, slices.Concat(terms, s.impute.with)...)
	values := tableValues(t, all)
	columns := make([]stats.ImputeColumn, len(all))
	for k, v := range all {
		columns[k] = imputeColumn(v.variable, values[k])
	}
	done, err := stats.Impute(columns, s.impute.opts)
	if err != nil {
		return nil, nil, 0, 0, err
	}
	usable := make([]bool, t.Len())
	for i := range usable {
		usable[i] = !values[0][i].Missing
	}
	var ids []int
	if s.cluster != nil {
		var known []bool
		ids, known = clusters(t.Column(s.cluster.Name), t.Len())
		for i := range usable {
			usable[i] = usable[i] && known[i]
		}
	}
	for i := range usable {
		if usable[i] && slices.ContainsFunc(values[1:1+len(terms)], func(v []value.Value) bool { return v[i].Missing }) {
			completed++
		}
	}
	var estimates, variances [][]float64
	df := 0.0
	for m, set := range done.Values {
		whole := make([][]value.Value, len(terms))
		for k := range terms {
			whole[k] = completedValues(all[k+1].variable, values[k+1], set[k+1])
		}
		one, err := newDesign(terms, whole, usable)
		if err == nil {
			err = one.interact(terms, s.fitting.interact)
		}
		if err != nil {
			return nil, nil, 0, 0, err
		}
		if d == nil {
			d = one
			estimates, variances = make([][]float64, len(d.columns)), make([][]float64, len(d.columns))
		}
		if !slices.Equal(one.columns, d.columns) {
			return nil, nil, 0, 0, errLevels
		}
		var y []value.Value
		var cluster []int
		for _, i := range one.rows {
			y = append(y, values[0][i])
			if ids != nil {
				cluster = append(cluster, ids[i])
			}
		}
		f, _, err := s.fitFamily(one, y, cluster, nil, level)
		if err != nil {
			return nil, nil, 0, 0, fmt.Errorf("completed data set %d: %w", m+1, err)
		}
		n = f.N
		first := len(f.Coefficients) - len(one.columns)
		df = float64(f.N - len(f.Coefficients))
		if f.Clusters > 0 && f.Clusters < f.N {
			df = float64(f.Clusters - 1)
		}
		for k := range one.columns {
			b, se := f.Coefficients[first+k], f.SE[first+k]
			estimates[k], variances[k] = append(estimates[k], b), append(variances[k], se*se)
		}
	}
	for k := range estimates {
		p, err := stats.PoolImputed(estimates[k], variances[k], stats.PooledOptions{Level: level, CompleteDF: df})
		if err != nil {
			return nil, nil, 0, 0, err
		}
		pooled = append(pooled, p)
	}
	return d, pooled, n, completed, nil
}

// imputeColumn lays a variable out for imputation.
func imputeColumn(v cohort.Variable, values []value.Value) stats.ImputeColumn {
	levels := v.Levels()
	c := stats.ImputeColumn{Name: v.Name, Levels: len(levels)}
	for _, x := range values {
		number := math.NaN()
		switch {
		case x.Missing:
		case levels == nil:
			number = x.Number
		default:
			word, _ := valueLevel(x)
			number = float64(slices.Index(levels, word))
		}
		c.Values = append(c.Values, number)
	}
	return c
}

// completedValues are the values of a variable with what was imputed in place of
// what is missing.
func completedValues(v cohort.Variable, values []value.Value, completed []float64) []value.Value {
	levels := v.Levels()
	out := slices.Clone(values)
	for i := range out {
		switch {
		case !out[i].Missing:
		case levels == nil:
			out[i] = value.Num(completed[i])
		case v.Kind == value.Bool:
			out[i] = value.Truth(levels[int(completed[i])] == value.Truth(true).String())
		default:
			out[i] = value.Str(levels[int(completed[i])])
		}
	}
	return out
}
