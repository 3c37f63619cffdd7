package run

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// tableChoices are the plan's choices for the crude table and its strata.
type tableChoices struct {
	share   string // the word for the share with the outcome: risk or prevalence
	tests   []string
	written bool      // the tests stand in the plan
	scores  []float64 // of the levels; nil: no trend
	scored  bool      // they stand in the plan
	strata  []cohort.Variable
	exact   bool
	seed    uint64
	seeded  bool
}

// The tests of a crude table, as the plan names them.
const (
	chiSquareTest  = "chi-square"
	likelihoodTest = "likelihood-ratio"
	fisherTest     = "fisher"
	trendTest      = "trend"
)

// bindTable checks the choices for the crude table.
func (s *association) bindTable(m *cohort.Model, a *plan.Association) error {
	c := &s.table2k
	levels := s.exposure.variable.Levels()
	c.share, c.tests, c.seed = "risk", []string{chiSquareTest, fisherTest}, 1
	if a.Outcomes != "" {
		c.share = a.Outcomes
	}
	if levels == nil {
		switch {
		case a.Tests != nil:
			return a.Tests[0].Errorf(1, 1, "", "tests of a table, but exposure %q is a number and has none", s.exposure.variable.Name)
		case a.Stratify != nil:
			return a.Stratify[0].Errorf(1, 1, "", "strata of a table, but exposure %q is a number and has none", s.exposure.variable.Name)
		}
	}
	if a.Tests != nil {
		c.tests, c.written = nil, true
		for _, t := range a.Tests {
			if slices.Contains(c.tests, t.Value) {
				return t.Errorf(1, 1, "", "%q stands twice among the tests", t.Value)
			}
			c.tests = append(c.tests, t.Value)
		}
	}
	trend := slices.Contains(c.tests, trendTest)
	if a.Scores != nil && !trend {
		return m.Plan.Fault(a.Scores[0].Position, "", "scores are for the test of trend, expected trend among tests")
	}
	if trend {
		var err error
		switch {
		case a.Scores != nil:
			if c.scores, err = perLevel(m, s.exposure.variable, a.Scores, "score", a.Scores[0].Position); err != nil {
				return err
			}
			c.scored = true
		case !s.exposure.variable.Ordered:
			return m.Plan.Fault(a.Position, "", fmt.Sprintf("trend needs an order of the levels: %q has none in the codebook, expected scores", s.exposure.variable.Name))
		default:
			for l := range levels {
				c.scores = append(c.scores, float64(l+1))
			}
		}
	}
	for _, name := range a.Stratify {
		v, err := levelled(m, s.table, name)
		if err != nil {
			return err
		}
		if v.Name == s.outcome.Name || v.Name == s.exposure.variable.Name || slices.ContainsFunc(c.strata, func(o cohort.Variable) bool { return o.Name == v.Name }) {
			return name.Errorf(1, 1, "", "%q is in the table already, expected another variable", v.Name)
		}
		c.strata = append(c.strata, v)
	}
	if c.exact = a.Exact; c.exact && c.strata == nil {
		return m.Plan.Fault(a.Position, "", "exact goes with stratify, expected variables of strata")
	}
	if a.Seed != nil {
		c.seed, c.seeded = uint64(*a.Seed), true
		if !slices.Contains(c.tests, fisherTest) {
			return m.Plan.Fault(a.Position, "", "seed is for the random tables of fisher, expected fisher among tests")
		}
	}
	return nil
}

// crude adds the table of exposure by outcome.
func (s *association) crude(b *builder, rows int, outcome, exposure *dataset.Column) {
	levels := s.exposure.variable.Levels()
	place := map[string]int{}
	for i, level := range levels {
		place[level] = i
	}
	counts := make([][]int, len(levels)) // outcome yes, no
	for i := range counts {
		counts[i] = make([]int, 2)
	}
	n, noOutcome, noExposure := 0, 0, 0
	for i := range rows {
		level, known := levelText(exposure, i)
		had := outcome.Value(i)
		switch {
		case had.Missing:
			noOutcome++
		case !known:
			noExposure++
		default:
			at := 1
			if had.Bool {
				at = 0
			}
			counts[place[level]][at]++
			n++
		}
	}
	b.removed("rows", fmt.Sprintf("%s missing: not in the crude table", s.outcome.Label), float64(noOutcome))
	b.removed("rows", fmt.Sprintf("%s missing: not in the crude table", s.exposure.variable.Label), float64(noExposure))
	odds := choose(oddsRatioLimits, s.limits.Odds)
	b.set("limits of odds ratios", odds.setting, s.limits.Odds != "")
	risk, ratio, difference := b.riskLimits(s.limits.RiskLimits)
	share := s.table2k.share
	b.Methods = fmt.Sprintf("Crude odds ratios have %s, %s ratios %s, %s differences %s, and %s %s.", odds.sentence,
		share, ratio.sentence, share, difference.sentence, map[string]string{"risk": "risks", "prevalence": "prevalences"}[share], risk.sentence)
	b.cite(slices.Concat(odds.cite, ratio.cite, difference.cite, risk.cite)...)
	name := s.exposure.variable.Name
	for i, level := range levels {
		r := b.row("counts", share)
		r.Variable, r.Term = name, level
		size := counts[i][0] + counts[i][1]
		r.N, r.Events = result.Number(size), result.Number(counts[i][0])
		e, err := stats.Proportion(counts[i][0], size, stats.ProportionOptions{Level: b.level, Method: risk.method})
		b.add(b.estimate(r, e, err))
	}
	ref := counts[s.exposure.reference]
	opts := stats.LimitOptions{Level: b.level}
	for _, m := range []struct {
		measure string
		compute twoRisks
	}{
		{"odds ratio", odds.method}, {share + " ratio", ratio.method}, {share + " difference", difference.method},
	} {
		for i, level := range levels {
			if i == s.exposure.reference {
				continue
			}
			r := b.row("crude", m.measure)
			r.Variable, r.Term = name, level
			r.N = result.Number(counts[i][0] + counts[i][1] + ref[0] + ref[1])
			r.Events = result.Number(counts[i][0] + ref[0])
			e, err := m.compute(counts[i][0], counts[i][1], ref[0], ref[1], opts)
			b.add(b.estimate(r, e, err))
		}
	}
	s.tests(b, counts, n)
}

// tests adds the tests of the crude table.
func (s *association) tests(b *builder, counts [][]int, n int) {
	c := s.table2k
	var filled [][]int
	var events, sizes []int
	var scores []float64
	for i := range counts {
		size := counts[i][0] + counts[i][1]
		if size == 0 {
			continue
		}
		filled = append(filled, counts[i])
		events, sizes = append(events, counts[i][0]), append(sizes, size)
		if c.scores != nil {
			scores = append(scores, c.scores[i])
		}
	}
	b.set("tests", strings.Join(c.tests, ", "), c.written)
	var said []string
	for _, test := range c.tests {
		if test == trendTest {
			b.scoreSetting(s)
			said = append(said, "the Cochran-Armitage test of trend over the scores")
			b.cite("Armitage 1955")
			t, err := stats.ProportionTrend(events, sizes, scores, stats.TrendOptions{})
			b.test("tests", "trend of proportions", t, n, err)
			continue
		}
		said = append(said, s.tableTest(b, test, filled, n))
	}
	if said != nil {
		b.Methods += " The table is tested by " + listed(said) + "."
	}
}

// listed joins words as a sentence does.
func listed(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and by " + words[len(words)-1]
}

// oddsRatio is Woolf's odds ratio, or the exact conditional one where a count
// is zero.
func oddsRatio(a, b, c, d int, opts stats.LimitOptions) (stats.Estimate, error) {
	e, err := stats.OddsRatio(a, b, c, d, opts)
	if errors.Is(err, stats.ErrZeroCell) {
		return stats.OddsRatioExact(a, b, c, d, opts)
	}
	return e, err
}
