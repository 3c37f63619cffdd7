package run

import (
	"math"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// parametricModels adds the parametric models of time.
func (s *timeToEvent) parametricModels(b *builder, rows *fittedRows) {
	if s.parametric == nil {
		return
	}
	var words []string
	for _, name := range s.parametric {
		words = append(words, string(name))
	}
	b.set("parametric models", strings.Join(words, ", "), true)
	b.Methods += " Parametric models of time (" + strings.Join(words, ", ") + ") are fitted by maximum likelihood"
	if s.between != nil {
		b.Methods += ", the event lying anywhere between the last visit without and the first with it"
	}
	b.Methods += "; time ratios say how many times as long it takes."
	b.cite("Kalbfleisch 2002")
	v, x, opts := s.lifetimes(b, rows)
	last := s.observedCurves(b)
	for _, name := range s.parametric {
		f, err := stats.FitParametricSurvival(v, x, rows.design.names(), name, opts)
		s.parametricModel(b, rows.design, name, f, err, last)
	}
}

// lifetimes are the rows as times known exactly, or between visits where the
// analysis has those.
func (s *timeToEvent) lifetimes(b *builder, rows *fittedRows) (v stats.EnteredIntervals, x [][]float64, opts stats.ParametricOptions) {
	opts.Level = b.level
	for i, exit := range rows.Exit {
		left, right := exit, exit
		switch {
		case s.between != nil:
			left, right = rows.left[i], rows.right[i]
		case !rows.Status[i]:
			right = math.Inf(1)
		}
		if math.IsNaN(right) {
			continue // its visits contradict each other
		}
		v.Left, v.Right, x = append(v.Left, left), append(v.Right, right), append(x, rows.design.x[i])
		if rows.Entry != nil {
			v.Entry = append(v.Entry, rows.Entry[i])
		}
		if rows.cox.Cluster != nil {
			opts.Cluster = append(opts.Cluster, rows.cox.Cluster[i])
		}
		if rows.weight != nil {
			opts.Weights = append(opts.Weights, rows.weight[i])
		}
	}
	return v, x, opts
}

// parametricPart is the part of a parametric model.
func parametricPart(name stats.LifetimeDistribution) string {
	return strings.ToLower(string(name)) + " model"
}

// parametricModel adds the rows of one model; last is up to when the curve of
// each group was observed.
func (s *timeToEvent) parametricModel(b *builder, d *design, name stats.LifetimeDistribution, f stats.ParametricFit, err error, last map[result.Group]float64) {
	part := parametricPart(name)
	if err != nil {
		r := b.row(part, "log likelihood")
		r.Reason = err.Error()
		b.add(r)
		return
	}
	for i, c := range d.columns {
		if slices.Contains(d.shaped, i) {
			continue
		}
		r := b.row(part, "time ratio")
		r.Variable, r.Term = c.variable, c.level
		b.add(b.estimate(r, f.Estimates[i], nil))
		if f.HazardRatios != nil {
			r := b.row(part, "hazard ratio")
			r.Variable, r.Term = c.variable, c.level
			b.add(b.estimate(r, f.HazardRatios[i], nil))
		}
	}
	for i, term := range f.Terms {
		r := b.row(part, "coefficient")
		r.Term = term
		if i > 0 && i <= len(d.columns) {
			r.Variable, r.Term = d.columns[i-1].variable, d.columns[i-1].level
		}
		b.add(b.estimate(r, f.Coefficient(i, b.level), nil))
	}
	if name != stats.Exponential {
		b.add(b.estimate(b.row(part, "shape"), f.Shape, nil))
	}
	r := b.row(part, "log likelihood")
	r.N, r.Events = result.Number(f.N), result.Number(f.Events)
	for _, w := range f.Warnings {
		r.Warnings = append(r.Warnings, w.Text)
	}
	b.add(number(r, f.LogLik, ""))
	b.add(number(b.row(part, "AIC"), f.AIC, "not defined with weights"))
	for _, t := range f.Tests {
		b.test(part, t.Name, t, f.N, nil)
	}
	s.parametricTimes(b, d, name, f, last)
}

// byGroupsAlone reports whether the model has the groups and nothing else in it,
// so that each group has one law of time.
func (s *timeToEvent) byGroupsAlone() bool {
	return s.by != nil && len(s.model) == 1 && s.model[0].variable.Name == s.by.variable.Name
}

// parametricTimes adds what the model says of the time of each group, where
// nothing else is in it: the median, the share without the event at the times of
// the plan, and its curve.
func (s *timeToEvent) parametricTimes(b *builder, d *design, name stats.LifetimeDistribution, f stats.ParametricFit, last map[result.Group]float64) {
	if !s.byGroupsAlone() {
		return
	}
	part, reference := parametricPart(name), s.model[0].reference
	for l, level := range s.by.variable.Levels() {
		x := make([]float64, len(d.columns))
		own := slices.Index(d.columns, coefficient{s.by.variable.Name, level})
		if own >= 0 {
			x[own] = 1
		} else if l != reference {
			continue // no row has it
		}
		g := group(s.by.variable.Name, level)
		r := b.row(part, "median time", g)
		r.Unit = s.unit
		b.add(b.estimate(r, f.Quantile(x, 0.5, b.level), nil))
		for _, at := range s.plan.At {
			if at == 0 {
				continue
			}
			r := b.row(part, "survival", g)
			r.At = result.Number(at)
			b.add(b.estimate(r, f.Survival(x, at, b.level), nil))
		}
		for i := 0; i <= fittedPlaces && last[g] > 0; i++ {
			r := b.row("fitted", "survival", g)
			r.Term, r.At = string(name), result.Number(last[g]*float64(i)/fittedPlaces)
			b.add(number(r, f.Survival(x, float64(r.At), b.level).Value, ""))
		}
	}
}

// fittedPlaces is the number of stretches of the curve of a parametric model.
const fittedPlaces = 50

// observedCurves adds the curve of each group without a model: its own, or the
// interval-censored one, in the middle of where it may run, and gives its last
// time.
func (s *timeToEvent) observedCurves(b *builder) map[result.Group]float64 {
	last := map[result.Group]float64{}
	if !s.byGroupsAlone() {
		return last
	}
	for _, r := range slices.Clone(b.rows) {
		switch {
		case s.between != nil && (r.Part != "interval" || r.Term != betweenTerm):
			continue
		case s.between == nil && r.Part != "curve":
			continue
		case math.IsNaN(float64(r.Estimate)) || len(r.Groups) != 1:
			continue
		}
		g := r.Groups[0]
		if _, begun := last[g]; !begun && r.At > 0 {
			start := b.row("fitted", "survival", r.Groups...)
			start.Term, start.At = result.Observed, 0
			b.add(number(start, 1, ""))
		}
		own := b.row("fitted", "survival", r.Groups...)
		own.Term, own.At = result.Observed, r.At
		b.add(number(own, float64(r.Estimate), ""))
		last[g] = math.Max(last[g], float64(r.At))
	}
	return last
}
