package run

import (
	"context"
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// paired is an analysis of kind paired.
type paired struct {
	plan          *plan.Paired
	table         string
	first, second cohort.Variable
	limits        plan.PairedLimits
}

func bindPaired(m *cohort.Model, a *plan.Paired) (job, error) {
	s := &paired{plan: a}
	var err error
	if s.table, err = tableOf(m, a.Table); err != nil {
		return nil, err
	}
	for _, of := range []struct {
		name document.String
		to   *cohort.Variable
	}{{a.First, &s.first}, {a.Second, &s.second}} {
		if *of.to, err = m.Variable(s.table, of.name); err != nil {
			return nil, err
		}
		if of.to.Kind != value.Bool {
			return nil, of.name.Errorf(1, 1, "", "%q is a %v, expected a boolean", of.to.Name, of.to.Kind)
		}
	}
	if s.first.Name == s.second.Name {
		return nil, a.Second.Errorf(1, 1, "", "%q is the first of the pair too, expected another variable", s.second.Name)
	}
	if a.Limits != nil {
		s.limits = *a.Limits
	}
	return s, nil
}

var pairedDifferenceLimits = []chosen[stats.PairedDifferenceMethod]{
	{"tango", stats.PairedTango, "score (Tango)", "Tango's score limits", []string{"Tango 1998"}},
	{"newcombe", stats.PairedNewcombe, "Newcombe's method 10", "Newcombe's limits for pairs (his method 10)", []string{"Newcombe 1998 pairs"}},
	{"wald", stats.PairedWald, "normal (Wald)", "normal limits", []string{"Newcombe 1998 pairs"}},
}

var pairedOddsLimits = []chosen[bool]{
	{"exact", false, "exact", "exact limits", []string{"Breslow 1980"}},
	{"mid-p", true, "mid-P", "mid-P limits", []string{"Breslow 1980", "Berry 1995"}},
}

var mcNemarTests = []chosen[stats.McNemarMethod]{
	{"exact", stats.McNemarExact, "exact", "McNemar's exact test", []string{"McNemar 1947"}},
	{"mid-p", stats.McNemarMidP, "mid-P", "McNemar's mid-P test", []string{"McNemar 1947", "Fagerland 2013"}},
	{"chi-square", stats.McNemarChiSquare, "chi-square, no correction", "McNemar's chi-square without correction", []string{"McNemar 1947"}},
	{"corrected", stats.McNemarCorrected, "chi-square, corrected for continuity", "McNemar's chi-square with Edwards's correction", []string{"McNemar 1947", "Edwards 1948"}},
}

func (s *paired) run(_ context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(s.table)
	b.Unit = s.table
	if s.plan.Unit != "" {
		b.Unit = s.plan.Unit
	}
	b.name(s.first)
	b.name(s.second)
	share, odds := choose(proportionLimits, s.limits.Proportion), choose(pairedOddsLimits, s.limits.Odds)
	difference, test := choose(pairedDifferenceLimits, s.limits.Difference), choose(mcNemarTests, s.plan.Test)
	b.set("first", s.first.Name, true)
	b.set("second", s.second.Name, true)
	b.set("limits of shares", share.setting, s.limits.Proportion != "")
	b.set("limits of the difference", difference.setting, s.limits.Difference != "")
	b.set("limits of the ratio", "score", false)
	b.set("limits of the odds ratio", odds.setting, s.limits.Odds != "")
	b.set("test", test.setting, s.plan.Test != "")
	b.Methods = fmt.Sprintf("The two of each pair are compared as such: the difference of the shares has %s, their ratio score limits, the odds ratio of the discordant pairs %s, and both shares are tested for being one by %s. Pairs of which one is missing do not enter.",
		difference.sentence, odds.sentence, test.sentence)
	b.cite(slices.Concat(share.cite, difference.cite, odds.cite, test.cite)...)

	var p stats.PairTable
	one, two := t.Column(s.first.Name), t.Column(s.second.Name)
	lacking := 0
	for i := range t.Len() {
		x, y := one.Value(i), two.Value(i)
		switch {
		case x.Missing || y.Missing:
			lacking++
		case x.Bool && y.Bool:
			p.Both++
		case x.Bool:
			p.First++
		case y.Bool:
			p.Second++
		default:
			p.Neither++
		}
	}
	b.removed("pairs", "one of the two missing", float64(lacking))
	n := p.Both + p.First + p.Second + p.Neither
	for _, x := range []struct {
		term string
		n    int
	}{{"both", p.Both}, {"first alone", p.First}, {"second alone", p.Second}, {"neither", p.Neither}} {
		r := b.row("pairs", "count")
		r.Term, r.N = x.term, result.Number(n)
		b.add(number(r, float64(x.n), ""))
	}
	for _, x := range []struct {
		v    cohort.Variable
		with int
	}{{s.first, p.Both + p.First}, {s.second, p.Both + p.Second}} {
		r := b.row("shares", "proportion")
		r.Variable, r.N, r.Events = x.v.Name, result.Number(n), result.Number(x.with)
		e, err := stats.Proportion(x.with, n, stats.ProportionOptions{Level: b.level, Method: share.method})
		b.add(b.estimate(r, e, err))
	}
	row := func(measure string) result.Row {
		r := b.row("comparison", measure)
		r.N, r.Events = result.Number(n), result.Number(p.First+p.Second)
		return r
	}
	e, err := stats.PairedDifference(p, stats.PairedDifferenceOptions{Level: b.level, Method: difference.method})
	b.add(b.estimate(row("paired difference"), e, err))
	e, err = stats.PairedRatio(p, stats.LimitOptions{Level: b.level})
	b.add(b.estimate(row("paired ratio"), e, err))
	e, err = stats.PairedOddsRatio(p, stats.ExactOptions{Level: b.level, MidP: odds.method})
	b.add(b.estimate(row("paired odds ratio"), e, err))
	m, err := stats.McNemar(p, stats.McNemarOptions{Method: test.method})
	b.test("comparison", "McNemar test", m, n, err)
	return nil
}
