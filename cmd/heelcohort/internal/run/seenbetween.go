package run

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// seenBetween is where events are seen only between visits.
type seenBetween struct {
	without, with    *cohort.Formula
	seed, replicates int
	seeded           bool
}

// The three readings of an event seen between visits.
const (
	betweenTerm  = "interval-censored"
	visitTerm    = "on the day of the visit"
	midwayTerm   = "midway between visits"
	betweenDraws = 500 // each fits the curve anew
)

func bindBetween(m *cohort.Model, table string, a *plan.TimeToEvent) (*seenBetween, error) {
	p := a.Interval
	if p == nil {
		return nil, nil
	}
	if a.Entry != nil {
		return nil, m.Plan.Fault(p.Position, "", "interval beside entry: the interval-censored curve takes rows as observed from the start, expected one of them")
	}
	s := &seenBetween{seed: 1, replicates: betweenDraws}
	var err error
	if s.without, err = m.Expression(table, p.Without, value.Number); err != nil {
		return nil, err
	}
	if s.with, err = m.Expression(table, p.With, value.Number); err != nil {
		return nil, err
	}
	if p.Seed != nil {
		s.seed, s.seeded = *p.Seed, true
	}
	if p.Replicates != nil {
		s.replicates, s.seeded = *p.Replicates, true
	}
	level, _ := m.Plan.Confidence()
	if least := stats.LeastReplicates(level); s.replicates < least {
		return nil, m.Plan.Fault(p.Position, "", fmt.Sprintf("%d replicates, expected at least %d for limits at %g", s.replicates, least, level))
	}
	return s, nil
}

// observeBetween gives the rows their last visit without and first with the
// event, from the start on.
func (s *timeToEvent) observeBetween(c *cohort.Cohort, b *builder, o *observed) error {
	if s.between == nil {
		return nil
	}
	without, err := c.Values(s.between.without)
	if err != nil {
		return err
	}
	with, err := c.Values(s.between.with)
	if err != nil {
		return err
	}
	contradict := 0
	for i, row := range o.row {
		start := o.start[i]
		left, right := 0.0, math.Inf(1)
		if !without[row].Missing {
			left = math.Max(0, without[row].Number-start)
		}
		if !with[row].Missing {
			right = with[row].Number - start
		}
		if right < left || right <= 0 {
			contradict++
			b.found = append(b.found, locate(dataset.Finding{
				Rule: dataset.RuleDayOrder, Severity: dataset.Warning, Table: s.table, Expected: "a day after the start and the last visit without the event",
				Message: "the first visit with the event is not after the last without it: the row is not in the interval-censored curve",
			}, c.Data.Table(s.table), row, s.between.with))
			right = math.NaN()
		}
		o.left, o.right = append(o.left, left), append(o.right, right)
	}
	b.removed("rows", "the first visit with the event is not after the last without: not in the interval-censored curve", float64(contradict))
	b.set("last visit without", s.plan.Interval.Without.Value, true)
	b.set("first visit with", s.plan.Interval.With.Value, true)
	b.set("replicates", fmt.Sprint(s.between.replicates), s.plan.Interval.Replicates != nil)
	b.set("seed", fmt.Sprint(s.between.seed), s.plan.Interval.Seed != nil)
	unit := "rows"
	if s.cluster != nil {
		unit = lowerLabel(*s.cluster)
	}
	b.Methods += " Events seen only between two visits have the nonparametric curve of greatest likelihood, iterated to its optimality conditions, with percentile limits from resamples of " + unit +
		"; beside it stand Kaplan–Meier curves that take each event to have come on the day of the visit, and midway."
	b.cite("Turnbull 1976", "Gentleman 1994")
	return nil
}

// seenBetween adds one group's interval-censored curve and those beside it.
func (s *timeToEvent) seenBetween(b *builder, g []result.Group, o *observed) error {
	if s.between == nil {
		return nil
	}
	var v stats.Intervals
	var cluster []int
	visit, midway := stats.Times{}, stats.Times{}
	for i := range o.left {
		if math.IsNaN(o.right[i]) {
			continue
		}
		left, right := o.left[i], o.right[i]
		v.Left, v.Right = append(v.Left, left), append(v.Right, right)
		seen, mid := right, (left+right)/2
		if math.IsInf(right, 1) {
			seen, mid = left, left
		}
		visit.Exit, midway.Exit = append(visit.Exit, seen), append(midway.Exit, mid)
		visit.Status, midway.Status = append(visit.Status, !math.IsInf(right, 1)), append(midway.Status, !math.IsInf(right, 1))
		if o.cluster != nil {
			cluster = append(cluster, o.cluster[i])
		}
	}
	s.betweenCurve(b, g, v, cluster)
	for _, other := range []struct {
		term  string
		times stats.Times
	}{{visitTerm, visit}, {midwayTerm, midway}} {
		c, err := stats.KaplanMeier(other.times, stats.CurveOptions{Level: b.level, Limits: s.limits, Cluster: cluster})
		median := s.betweenRow(b, g, "interval quantile", "median time", other.term)
		median.Unit = s.unit
		if err != nil {
			median.Reason = err.Error()
			b.add(median)
			continue
		}
		start := s.betweenRow(b, g, "interval", "survival", other.term)
		start.At = 0
		b.add(number(start, 1, ""))
		for i, at := range c.Time {
			if at == 0 || c.Events[i] == 0 && i < len(c.Time)-1 {
				continue
			}
			r := s.betweenRow(b, g, "interval", "survival", other.term)
			r.At = result.Number(at)
			b.add(number(r, c.Survival[i], "nobody was under observation any more"))
		}
		b.add(b.estimate(median, c.Quantile(0.5), nil))
		for _, at := range s.plan.At {
			p := c.At(at)
			r := s.betweenRow(b, g, "interval at", "survival", other.term)
			r.At = result.Number(at)
			b.add(b.estimate(r, stats.Estimate{
				Value: p.Survival, Lower: p.Lower, Upper: p.Upper, SE: p.SE, Level: c.Level, P: nan, Method: c.Method,
				Warnings: limitWarning(p.Survival, p.Lower),
			}, nil))
		}
	}
	return nil
}

func (s *timeToEvent) betweenRow(b *builder, g []result.Group, part, measure, term string) result.Row {
	r := b.row(part, measure, g...)
	r.Term = term
	return r
}

// betweenCurve adds the curve of greatest likelihood: where it steps, and where
// it may run anywhere between two bounds, which stand as lower and upper beside
// their middle.
func (s *timeToEvent) betweenCurve(b *builder, g []result.Group, v stats.Intervals, cluster []int) {
	median := s.betweenRow(b, g, "interval quantile", "median time", betweenTerm)
	median.Unit, median.N = s.unit, result.Number(len(v.Left))
	c, err := stats.IntervalCensored(v)
	if err != nil {
		median.Reason = err.Error()
		b.add(median)
		return
	}
	point := func(at, value, lower, upper float64) {
		r := s.betweenRow(b, g, "interval", "survival", betweenTerm)
		r.At, r.Lower, r.Upper = result.Number(at), result.Number(lower), result.Number(upper)
		r.Method = "bounds of the nonparametric maximum likelihood estimate"
		b.add(number(r, value, ""))
	}
	before := 1.0
	if c.Left[0] > 0 || c.Left[0] == c.Right[0] {
		point(0, 1, 1, 1)
	}
	for i := range c.Left {
		after := c.Survival[i]
		if c.Left[i] < c.Right[i] {
			point(c.Left[i], (before+after)/2, after, before)
		}
		if !math.IsInf(c.Right[i], 1) && (i == len(c.Left)-1 || c.Left[i+1] != c.Right[i] || c.Left[i+1] == c.Right[i+1]) {
			point(c.Right[i], after, after, after)
		}
		before = after
	}
	// To the last visit of all the curve stays where it is.
	last, end := 0.0, len(c.Right)-1
	for i, right := range v.Right {
		last = math.Max(last, v.Left[i])
		if !math.IsInf(right, 1) {
			last = math.Max(last, right)
		}
	}
	switch {
	case c.Beyond > 0 && last > c.Right[end]:
		point(last, before, before, before)
	case c.Beyond == 0 && c.Unfinished > 0:
		b.warn(fmt.Sprintf("%sThe interval-censored curve falls to 0 between %v and %v, since nobody was seen without the event after that; %d rows were without it when last seen.",
			b.groupName(g), c.Left[end], c.Right[end], c.Unfinished))
	}
	for _, w := range c.Warnings {
		b.warn(b.groupName(g) + w.Text)
	}
	survival, quantiles, err := stats.IntervalLimits(v, cluster, s.plan.At, []float64{0.5}, stats.BootstrapOptions{
		Level: b.level, Replicates: s.between.replicates, Seed: uint64(s.between.seed),
	})
	if err != nil {
		median.Reason = err.Error()
		b.add(median)
		return
	}
	b.add(b.estimate(median, quantiles[0], nil))
	for i, at := range s.plan.At {
		r := s.betweenRow(b, g, "interval at", "survival", betweenTerm)
		r.At, r.N = result.Number(at), result.Number(len(v.Left))
		b.add(b.estimate(r, survival[i], nil))
	}
}
