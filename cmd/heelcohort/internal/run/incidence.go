package run

import (
	"context"
	"fmt"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/stats"
)

// incidence is an analysis of kind incidence.
type incidence struct {
	plan         *plan.Incidence
	participants string
	events       string // tables
	atRisk       string
	day, when    *cohort.Formula
	count        *cohort.Formula
	amount       *cohort.Formula
	from, to     *cohort.Formula
	age          *cohort.Formula // of the participants, on day 0
	bands        []float64
	end          *cohort.Formula // of an episode
	heel         *cohort.Formula // whose levels are at risk by themselves
	heels        cohort.Variable
	calendar     *grouping
	calendarZero *cohort.Formula // of the participants: calendar day on day 0
	starts       []float64       // bounds of the calendar bands
	by           []grouping
	references   []int // among the levels of by; -1: none
	first        bool
	per          float64
	unit         string
	model        *rateModel
	choices      rateChoices
}

// A grouping is one variable of by, as events and person-time have it.
type grouping struct {
	variable       cohort.Variable
	current        bool // a band of the child's own time: current age or calendar
	calendar       bool
	events, atRisk *cohort.Formula
}

// A rateModel is a log-linear model of the rate.
type rateModel struct {
	terms      []term
	family     string
	errors     string // of the model, or the form of robust ones
	limits     string
	dispersion bool
	test       bool      // of overdispersion
	byChild    bool      // rows are the cells of each child
	marginal   []int     // terms with marginal rates
	fine       *fineAges // nil: current age is its bands
	cycle      *fineSeason
	cluster    bool   // by child
	variable   string // of the clusters in a table of counts
}

func (s *incidence) run(ctx context.Context, c *cohort.Cohort, b *builder) error {
	s.settings(b)
	var p *persontime
	var err error
	if s.count != nil {
		p, err = s.counts(c, b)
	} else {
		p, err = s.follow(ctx, c, b)
	}
	if err != nil {
		return err
	}
	if n := c.Aside(s.events); n > 0 {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys; the events among them are not counted.", n, s.events))
	}
	if n := c.Aside(s.atRisk); n > 0 && s.atRisk != s.events {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys; their person-time is not counted.", n, s.atRisk))
	}
	s.rates(b, p)
	s.ratios(b, p)
	s.rateTests(b, p)
	s.pooled(b, p)
	s.standardised(b, p)
	if s.model != nil {
		s.fit(c, b, p)
	}
	if p.account != nil {
		return s.reconcile(b, p)
	}
	return nil
}

func (s *incidence) settings(b *builder) {
	for i, g := range s.by {
		b.name(g.variable)
		if s.references[i] >= 0 {
			b.set("reference."+g.variable.Name, g.variable.Levels()[s.references[i]], true)
		}
	}
	b.Unit = s.participants
	if s.count != nil {
		b.Unit = s.atRisk
		b.set("events", s.plan.Events.Count.Value, true)
	} else {
		when := "every row"
		if s.plan.Events.When != nil {
			when = s.plan.Events.When.Value
		}
		b.set("events", when, s.plan.Events.When != nil)
		b.set("event day", s.plan.Events.Day.Value, true)
		episodes := "first"
		if !s.first {
			episodes = "all"
		}
		b.set("episodes", episodes, s.plan.Episodes != "")
		s.setAtRisk(b)
	}
	what := "days of the intervals"
	if s.plan.AtRisk.Amount != nil {
		what = s.plan.AtRisk.Amount.Value
	}
	b.set("person-time", what, s.plan.AtRisk.Amount != nil)
	b.set("per", strconv.FormatFloat(s.per, 'g', -1, 64), s.plan.Per != nil)
	limits := choose(rateLimits, s.choices.limits.Rate)
	b.set("limits of rates", limits.setting, s.choices.limits.Rate != "")
	s.figureSettings(b)
	b.Methods = "Incidence rates are events over person-time with " + limits.sentence + "."
	b.cite(limits.cite...)
	if s.age != nil {
		b.set("year", strconv.FormatFloat(stats.DaysPerYear, 'g', -1, 64)+" days", false)
		b.Methods += " Age is current age: person-time is split at birthdays, the amount of an interval being spread evenly over its days."
	}
	switch {
	case s.count != nil:
	case s.first:
		b.Methods += " A child is at risk of a first event only: its person-time stops at the event, and children with an event before their first interval are left out."
	default:
		if s.end == nil {
			b.Methods += " Every event counts."
		}
		b.warn("Every event counts: the limits take the events of one child as independent.")
	}
	s.describeAtRisk(b)
}

// perUnit is the unit of rates: "per 1,000 hours".
func (s *incidence) perUnit() string {
	unit := s.unit
	if unit == "" {
		unit = "units of person-time"
		if s.amount == nil {
			unit = "days"
		}
	}
	return "per " + printed.Thousands(strconv.FormatFloat(s.per, 'f', -1, 64)) + " " + unit
}
