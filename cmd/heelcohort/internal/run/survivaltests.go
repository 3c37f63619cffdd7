package run

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// The weighted tests of curves, as the plan names them.
var curveTests = []chosen[stats.WeightKind]{
	{"log-rank", stats.EqualWeights, "log-rank", "the log-rank test", []string{"Mantel 1966"}},
	{"gehan-breslow", stats.GehanBreslow, "Gehan-Breslow", "Gehan and Breslow's test", []string{"Breslow 1970"}},
	{"tarone-ware", stats.TaroneWare, "Tarone-Ware", "Tarone and Ware's test", []string{"Tarone 1977"}},
	{"peto-peto", stats.PetoPeto, "Peto-Peto", "Peto and Peto's test", []string{"Peto 1972"}},
	{flemingHarrington, stats.FlemingHarrington, "Fleming-Harrington", "Fleming and Harrington's test", []string{"Fleming 1991"}},
}

// The tests that are not the weighted test of all groups.
const (
	flemingHarrington  = "fleming-harrington"
	maximumCombination = "maximum-combination"
	curveTrend         = "trend"
)

// curveComparison is how the groups' curves are compared.
type curveComparison struct {
	by           cohort.Variable
	tests        []string
	testsWritten bool
	powers       [2]float64
	scores       []float64 // of the levels of by; nil: no trend
	scored       bool      // they stand in the plan
	pairs        *chosen[stats.Multiplicity]
	strata       *cohort.Variable
}

// bindCurveTests binds the tests of the groups; nil without groups.
func bindCurveTests(m *cohort.Model, table string, a *plan.TimeToEvent, by *term) (*curveComparison, error) {
	if by == nil {
		switch {
		case a.Tests != nil:
			return nil, a.Tests[0].Errorf(1, 1, "", "tests of groups, but by names none, expected a grouping variable")
		case a.Stratify != nil:
			return nil, a.Stratify.Errorf(1, 1, "", "strata of tests, but by names no groups, expected a grouping variable")
		case a.Pairs != "":
			return nil, m.Plan.Fault(a.Position, "", "pairs of groups, but by names none, expected a grouping variable")
		case len(a.Scores) > 0:
			return nil, m.Plan.Fault(a.Scores[0].Position, "", "scores of groups, but by names none, expected a grouping variable")
		case a.Powers != nil:
			return nil, m.Plan.Fault(a.Position, "", "powers are for fleming-harrington among tests of groups, but by names none")
		}
		return nil, nil
	}
	c := &curveComparison{by: by.variable, tests: []string{"log-rank"}, testsWritten: a.Tests != nil}
	if a.Tests != nil {
		c.tests = nil
	}
	for _, name := range a.Tests {
		switch {
		case slices.Contains(c.tests, name.Value):
			return nil, name.Errorf(1, 1, "", "%q stands twice among the tests", name.Value)
		case name.Value == maximumCombination && len(c.by.Levels()) != 2:
			return nil, name.Errorf(1, 1, "", "%s compares two groups, %q has %d levels", name.Value, c.by.Name, len(c.by.Levels()))
		case name.Value == flemingHarrington && a.Powers == nil:
			return nil, name.Errorf(1, 1, "", "%s without powers, expected two of them, such as powers: [0, 1] for late times", name.Value)
		}
		c.tests = append(c.tests, name.Value)
	}
	if a.Powers != nil {
		switch {
		case !slices.Contains(c.tests, flemingHarrington):
			return nil, m.Plan.Fault(a.Position, "", "powers are for fleming-harrington, expected it among tests")
		case len(a.Powers) != 2 || !(a.Powers[0] >= 0 && a.Powers[1] >= 0):
			return nil, m.Plan.Fault(a.Position, "", fmt.Sprintf("powers %v, expected two numbers from 0 on", a.Powers))
		}
		c.powers = [2]float64(a.Powers)
	}
	if err := c.bindScores(m, a); err != nil {
		return nil, err
	}
	if a.Pairs != "" {
		if c.tests[0] == maximumCombination || c.tests[0] == curveTrend {
			return nil, a.Tests[0].Errorf(1, 1, "", "pairs are compared by the first of tests, expected other than %s first", c.tests[0])
		}
		method := choose(multiplicityMethods, a.Pairs)
		c.pairs = &method
	}
	if a.Stratify == nil {
		return c, nil
	}
	v, err := levelled(m, table, *a.Stratify)
	switch {
	case err != nil:
		return nil, err
	case v.Name == c.by.Name:
		return nil, a.Stratify.Errorf(1, 1, "", "strata of %q, expected a variable other than that of by", v.Name)
	}
	c.strata = &v
	return c, nil
}

// bindScores finds the scores of the test of trend.
func (c *curveComparison) bindScores(m *cohort.Model, a *plan.TimeToEvent) error {
	trend := slices.Contains(c.tests, curveTrend)
	switch {
	case len(a.Scores) > 0 && !trend:
		return m.Plan.Fault(a.Scores[0].Position, "", "scores are for the test of trend, expected trend among tests")
	case !trend:
		return nil
	case len(a.Scores) > 0:
		c.scored = true
		var err error
		c.scores, err = perLevel(m, c.by, a.Scores, "score", a.Scores[0].Position)
		return err
	case !c.by.Ordered:
		return a.Tests[slices.Index(c.tests, curveTrend)].Errorf(1, 1, "", "trend needs an order of the levels: %q has none in the codebook, expected scores", c.by.Name)
	}
	for l := range c.by.Levels() {
		c.scores = append(c.scores, float64(l+1))
	}
	return nil
}

// add adds the tests of the groups, and the events expected by the first of
// them.
func (c *curveComparison) add(data *cohort.Cohort, b *builder, table string, o *observed, groups []int, names [][]result.Group) {
	times, opts := o.Times, stats.LogRankOptions{Cluster: o.cluster}
	within := ""
	if c.strata != nil {
		b.name(*c.strata)
		b.set("stratify", c.strata.Name, true)
		within = " within " + lowerLabel(*c.strata)
		column := data.Data.Table(table).Column(c.strata.Name)
		kept, of := observed{}, []int(nil)
		for i, row := range o.row {
			if level, known := levelText(column, row); known {
				kept.take(o, i)
				of = append(of, groups[i])
				opts.Strata = append(opts.Strata, slices.Index(c.strata.Levels(), level))
			}
		}
		b.removed("rows", c.strata.Label+" missing: not in the tests", float64(len(o.row)-len(of)))
		times, groups, opts.Cluster = kept.Times, of, kept.cluster
	}
	var said []string
	for i, name := range c.tests {
		sentence := c.test(b, name, times, groups, len(names), opts)
		if sentence != "" {
			said = append(said, sentence)
		}
		if i == 0 && c.pairs != nil {
			c.addPairs(b, times, groups, len(names), opts)
		}
	}
	b.Methods += " Groups are compared by " + listed(said) + within
	if opts.Cluster != nil {
		b.Methods += ", with a variance robust to dependence within clusters"
	}
	b.Methods += "."
	if c.pairs != nil {
		b.Methods += " Pairs of groups are compared by the first of these, with P values adjusted " + c.pairs.sentence + "."
		b.cite(c.pairs.cite...)
		b.set("pairs", c.pairs.setting, true)
	}
	b.set("tests", strings.Join(c.tests, ", "), c.testsWritten)
	if c.tests[0] == maximumCombination || c.tests[0] == curveTrend {
		return
	}
	opts.Weight = c.weight(c.tests[0])
	first, err := stats.LogRank(times, groups, len(names), opts)
	if err != nil {
		return
	}
	for g := range names {
		r := b.row("expected", "expected events", names[g]...)
		r.Events, r.N = result.Number(first.Observed[g]), result.Number(first.N[g])
		b.add(number(r, first.Expected[g], ""))
	}
}

// weight is the weight of a test of curves.
func (c *curveComparison) weight(name string) stats.LogRankWeight {
	w := stats.LogRankWeight{Kind: choose(curveTests, name).method}
	if w.Kind == stats.FlemingHarrington {
		w.Rho, w.Gamma = c.powers[0], c.powers[1]
	}
	return w
}

// test adds one test, and says it for the methods.
func (c *curveComparison) test(b *builder, name string, times stats.Times, groups []int, k int, opts stats.LogRankOptions) string {
	switch name {
	case curveTrend:
		var words []string
		for i, level := range c.by.Levels() {
			words = append(words, level+" "+shortNumber(c.scores[i]))
		}
		b.set("scores", strings.Join(words, ", "), c.scored)
		t, err := stats.LogRankTrend(times, groups, k, c.scores, opts)
		b.test("tests", "trend of the log-rank test", t.Test, len(groups), err)
		b.cite("Tarone 1975")
		return "the log-rank test of trend over the scores"
	case maximumCombination:
		t, err := stats.MaxCombo(times, groups, stats.MaxComboOptions{Strata: opts.Strata, Cluster: opts.Cluster, Seed: 1})
		b.test("tests", name, t.Test, len(groups), err)
		b.set("seed of the maximum-combination test", "1", false)
		b.cite("Lee 1996")
		return "the largest of the Fleming-Harrington tests with powers (0, 0), (1, 0), (0, 1) and (1, 1), P allowing for the choice"
	}
	choice := choose(curveTests, name)
	b.cite(choice.cite...)
	opts.Weight = c.weight(name)
	t, err := stats.LogRank(times, groups, k, opts)
	b.test("tests", name, t.Test, len(groups), err)
	if name == flemingHarrington {
		powers := shortNumber(c.powers[0]) + ", " + shortNumber(c.powers[1])
		b.set("powers", powers, true)
		return choice.sentence + " with powers " + powers
	}
	return choice.sentence
}

// addPairs adds the first test of each pair of groups.
func (c *curveComparison) addPairs(b *builder, times stats.Times, groups []int, k int, opts stats.LogRankOptions) {
	opts.Weight = c.weight(c.tests[0])
	pairs, family, err := stats.LogRankPairs(times, groups, k, stats.LogRankPairsOptions{LogRankOptions: opts, Adjust: c.pairs.method})
	if pairs == nil && err != nil {
		b.test("pairs", c.tests[0], stats.Test{}, 0, err)
		return
	}
	levels := c.by.Levels()
	for _, pair := range pairs {
		term := levels[pair.Second] + " vs " + levels[pair.First]
		r := b.testRow("pairs", c.tests[0], pair.Result.Test, pair.Err)
		r.Variable, r.Term = c.by.Name, term
		if pair.Err == nil {
			r.N = result.Number(pair.Result.N[0] + pair.Result.N[1])
		}
		b.add(r)
		if pair.Err != nil {
			continue
		}
		r = b.row("pairs", c.tests[0]+", adjusted")
		r.Variable, r.Term = c.by.Name, term
		r.P, r.N, r.Method = result.Number(pair.P), result.Number(family), c.pairs.setting
		b.add(r)
	}
}
