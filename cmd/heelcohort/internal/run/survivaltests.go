package run

import (
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// The tests of curves, as the plan names them.
var curveTests = []chosen[stats.WeightKind]{
	{"log-rank", stats.EqualWeights, "log-rank", "the log-rank test", []string{"Mantel 1966"}},
	{"gehan-breslow", stats.GehanBreslow, "Gehan-Breslow", "Gehan and Breslow's test", []string{"Breslow 1970"}},
	{"tarone-ware", stats.TaroneWare, "Tarone-Ware", "Tarone and Ware's test", []string{"Tarone 1977"}},
	{"peto-peto", stats.PetoPeto, "Peto-Peto", "Peto and Peto's test", []string{"Peto 1972"}},
}

// compare adds the tests of the groups, and the events expected by them.
func (s *timeToEvent) compare(c *cohort.Cohort, b *builder, o *observed, groups []int, names [][]result.Group) {
	times, opts := o.Times, stats.LogRankOptions{}
	n := len(o.row)
	within := ""
	if s.strata != nil {
		b.name(*s.strata)
		b.set("stratify", s.strata.Name, true)
		within = " within " + lowerLabel(*s.strata)
		column := c.Data.Table(s.table).Column(s.strata.Name)
		kept, of := stats.Times{}, []int(nil)
		for i, row := range o.row {
			level, known := levelText(column, row)
			if !known {
				continue
			}
			if o.Entry != nil {
				kept.Entry = append(kept.Entry, o.Entry[i])
			}
			kept.Exit, kept.Status = append(kept.Exit, o.Exit[i]), append(kept.Status, o.Status[i])
			of = append(of, groups[i])
			opts.Strata = append(opts.Strata, slices.Index(s.strata.Levels(), level))
		}
		b.removed("rows", s.strata.Label+" missing: not in the tests", float64(n-len(of)))
		times, groups, n = kept, of, len(of)
	}
	var said []string
	var first stats.LogRankResult
	var firstErr error
	for i, name := range s.tests {
		choice := choose(curveTests, name)
		said = append(said, choice.sentence)
		b.cite(choice.cite...)
		opts.Weight = stats.LogRankWeight{Kind: choice.method}
		test, err := stats.LogRank(times, groups, len(names), opts)
		b.test("tests", name, test.Test, n, err)
		if i == 0 {
			first, firstErr = test, err
		}
	}
	b.Methods += " Groups are compared by " + listed(said) + within + "."
	b.set("tests", strings.Join(s.tests, ", "), s.plan.Tests != nil)
	if firstErr != nil {
		return
	}
	test := first
	for g := range names {
		r := b.row("expected", "expected events", names[g]...)
		r.Events, r.N = result.Number(test.Observed[g]), result.Number(test.N[g])
		b.add(number(r, test.Expected[g], ""))
	}
}
