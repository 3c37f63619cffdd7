package run

import (
	"context"
	"fmt"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// burden is an analysis of kind burden.
type burden struct {
	plan                  *plan.Burden
	m                     *incidence // reads intervals and episodes, and places them
	lost, until, finished *cohort.Formula
	horizon               float64 // 0: the days observed
	schemes               []stats.SeverityScheme
	seed, replicates      int
}

func bindBurden(m *cohort.Model, a *plan.Burden) (job, error) {
	s := &burden{plan: a, seed: 1, replicates: stats.DefaultReplicates}
	one, err := bindIncidence(m, &plan.Incidence{
		Head: a.Head, AtRisk: a.AtRisk, Episodes: "all", By: a.By, Per: a.Per, Unit: a.Unit,
		Events: plan.Events{Table: a.Events.Table, Day: &a.Events.Day, When: a.Events.When, Position: a.Events.Position},
	})
	if err != nil {
		return nil, err
	}
	s.m = one.(*incidence)
	for _, f := range []struct {
		from *plan.Expression
		to   **cohort.Formula
		kind value.Kind
	}{{a.Events.Lost, &s.lost, value.Number}, {a.Events.Until, &s.until, value.Number}, {a.Events.Finished, &s.finished, value.Bool}} {
		if f.from == nil {
			continue
		}
		if *f.to, err = m.Expression(s.m.events, *f.from, f.kind); err != nil {
			return nil, err
		}
	}
	fault := func(at document.Position, text string) (job, error) { return nil, m.Plan.Fault(at, "", text) }
	switch restricted := a.Unfinished == "restricted-mean"; {
	case (s.lost == nil) == (s.until == nil):
		return fault(a.Events.Position, "events have lost and until, or neither, expected one of them to say the days lost")
	case restricted && a.Horizon == nil:
		return fault(a.Position, fmt.Sprintf("analysis %q has unfinished: restricted-mean without a horizon, expected the days an episode counts for at most", a.ID.Value))
	case !restricted && a.Horizon != nil:
		return fault(a.Position, fmt.Sprintf("analysis %q has a horizon, expected it beside unfinished: restricted-mean only", a.ID.Value))
	case restricted && s.finished == nil:
		return fault(a.Events.Position, "events have no finished, expected it beside unfinished: restricted-mean")
	case restricted:
		s.horizon = *a.Horizon
	}
	for _, scheme := range stats.SeveritySchemes() {
		if a.Severity == "" || a.Severity == "both" || a.Severity == scheme.Name {
			s.schemes = append(s.schemes, scheme)
		}
	}
	if a.Seed != nil {
		s.seed = *a.Seed
	}
	if a.Replicates != nil {
		s.replicates = *a.Replicates
	}
	level, _ := m.Plan.Confidence()
	if least := stats.LeastReplicates(level); s.replicates < least {
		return fault(a.Position, fmt.Sprintf("analysis %q has %d replicates, expected at least %d for limits at %g", a.ID.Value, s.replicates, least, level))
	}
	return s, nil
}

func (s *burden) run(ctx context.Context, c *cohort.Cohort, b *builder) error {
	b.Unit = s.m.participants
	s.settings(b)
	p, err := s.m.follow(ctx, c, b)
	if err != nil {
		return err
	}
	list, err := s.episodes(c, b, p)
	if err != nil {
		return err
	}
	if n := c.Aside(s.m.events); n > 0 {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys; the days lost among them are not counted.", n, s.m.events))
	}
	if n := c.Aside(s.m.atRisk); n > 0 && s.m.atRisk != s.m.events {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys; their person-time is not counted.", n, s.m.atRisk))
	}
	for _, at := range s.m.margins() {
		if err := ctx.Err(); err != nil {
			return err
		}
		s.cell(b, at, p, list)
	}
	if s.m.several(p) {
		b.warn("A child can have person-time in several groups, which its rows of the table count each.")
	}
	return nil
}

func (s *burden) settings(b *builder) {
	a := s.plan
	for _, g := range s.m.by {
		b.name(g.variable)
	}
	expression := func(key, text string, e *plan.Expression) {
		if e != nil {
			text = e.Value
		}
		b.set(key, text, e != nil)
	}
	expression("events", "every row", a.Events.When)
	b.set("event day", a.Events.Day.Value, true)
	if s.lost != nil {
		b.set("days lost", a.Events.Lost.Value, true)
	} else {
		b.set("days lost", "from the event day until "+a.Events.Until.Value, true)
	}
	expression("finished", "every row", a.Events.Finished)
	unfinished := "observed"
	if s.horizon > 0 {
		unfinished = "restricted-mean"
	}
	b.set("unfinished", unfinished, a.Unfinished != "")
	if s.horizon > 0 {
		b.set("horizon", number64(s.horizon)+" days", true)
	}
	expression("person-time", "days of the intervals", a.AtRisk.Amount)
	b.set("per", number64(s.m.per), a.Per != nil)
	b.set("limits of the burden", "percentiles of a bootstrap over children", false)
	b.set("seed", strconv.Itoa(s.seed), a.Seed != nil)
	b.set("replicates", strconv.Itoa(s.replicates), a.Replicates != nil)
	b.set("limits of rates", "exact Poisson", false)
	severity := a.Severity
	if severity == "" {
		severity = "both"
	}
	b.set("severity", severity, a.Severity != "")

	b.Methods = "Burden is days lost over person-time; an episode counts in full where it begins."
	b.cite("Bahr 2018", "Bahr 2020")
	if s.until != nil {
		b.Methods += " Days are counted from the onset up to the end; rows of a child that overlap are one episode, whose days count once."
	}
	if s.horizon > 0 {
		b.Methods += fmt.Sprintf(" Unfinished episodes are censored: days lost are the number of episodes times the Kaplan–Meier mean of their days, restricted to %s days.", number64(s.horizon))
		b.cite("Klein 2003")
	} else if s.finished != nil {
		b.Methods += " Of unfinished episodes the days so far are counted."
	}
	b.Methods += fmt.Sprintf(" Its limits are percentiles of %d bootstrap resamples of children, each with all its person-time and episodes.", s.replicates)
	b.cite("Efron 1993")
	for _, scheme := range s.schemes {
		if scheme.Name == "bahr-2020" {
			b.Methods += " Severity is 0, 1 to 7, 8 to 28 or more days lost (2020 consensus)."
		} else {
			b.Methods += " Severity is 0, 1 to 3, 4 to 7, 8 to 28 or more days lost (2006 football consensus)."
			b.cite("Fuller 2006")
		}
	}
	b.Methods += " Rates of episodes have exact Poisson limits."
	b.cite("Garwood 1936")
	b.warn("Limits of rates of episodes take the episodes of one child as independent; those of the burden do not.")
}

// cell adds the rows of one cell of the table.
func (s *burden) cell(b *builder, at []int, p *persontime, list []episode) {
	groups := s.m.groups(at)
	c := p.sum(at)
	time := p.byChild(at)
	index := map[int]int{}
	losses := stats.Losses{}
	var hours []float64
	for _, t := range time {
		index[t.child] = len(hours)
		hours = append(hours, t.amount)
	}
	var days stats.Sum
	unfinished := 0
	var kept []episode
	for _, e := range list {
		if !matches(e.at, at) {
			continue
		}
		if _, known := index[e.child]; !known {
			index[e.child] = len(hours)
			hours = append(hours, 0)
		}
		kept = append(kept, e)
		losses.Child, losses.Days = append(losses.Child, index[e.child]), append(losses.Days, e.days)
		losses.Unfinished = append(losses.Unfinished, !e.finished)
		days.Add(e.days)
		if !e.finished {
			unfinished++
		}
	}
	fill := func(r result.Row) result.Row {
		r.N, r.PersonTime, r.Unit = result.Number(c.children), result.Number(c.time), s.m.perUnit()
		return r
	}
	r := fill(b.row("burden", "burden", groups...))
	r.Events, r.Censored = result.Number(len(kept)), result.Number(unfinished)
	e, err := stats.Burden(hours, losses, stats.BurdenOptions{
		Level: b.level, Per: s.m.per, Horizon: s.horizon, Replicates: s.replicates, Seed: uint64(s.seed),
	})
	b.add(b.estimate(r, e, err))
	r = b.row("burden", "days lost", groups...)
	r.Events, r.Censored, r.Unit = result.Number(len(kept)), result.Number(unfinished), "days"
	b.add(number(r, days.Total(), ""))
	r = fill(b.row("burden", "incidence rate", groups...))
	r.Events = result.Number(len(kept))
	e, err = stats.Rate(len(kept), c.time, stats.RateOptions{Level: b.level, Per: s.m.per})
	b.add(b.estimate(r, e, err))
	if len(groups) == 0 && unfinished > 0 && s.horizon == 0 {
		b.warn(fmt.Sprintf("%d of %d episodes were not finished: their days so far are counted, and the burden is a lower bound.", unfinished, len(kept)))
	}
	for _, scheme := range s.schemes {
		s.severity(b, scheme, groups, kept, c.time, fill)
	}
}

// notFinished is the band of unfinished episodes that may yet come into a
// higher one.
const notFinished = "not finished"

// severity adds the episodes by band. An unfinished one belongs to the highest
// band as soon as its days do, and otherwise to none yet.
func (s *burden) severity(b *builder, scheme stats.SeverityScheme, groups []result.Group, list []episode, time float64, fill func(result.Row) result.Row) {
	labels := append(scheme.Labels(), notFinished)
	counts := make([]int, len(labels))
	for _, e := range list {
		band := scheme.Band(e.days)
		if !e.finished && band < len(labels)-2 {
			band = len(labels) - 1
		}
		counts[band]++
	}
	for i, label := range labels {
		if label == notFinished && s.finished == nil {
			continue
		}
		r := b.row("severity", "count", groups...)
		r.Variable, r.Term, r.N = scheme.Name, label, result.Number(len(list))
		b.add(number(r, float64(counts[i]), ""))
		r = fill(b.row("severity", "incidence rate", groups...))
		r.Variable, r.Term, r.Events = scheme.Name, label, result.Number(counts[i])
		e, err := stats.Rate(counts[i], time, stats.RateOptions{Level: b.level, Per: s.m.per})
		b.add(b.estimate(r, e, err))
	}
}
