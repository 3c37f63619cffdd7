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
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// bindOutcome checks the outcome against the family of its model: yes or no, or
// graded, which is categories or a number.
func (s *association) bindOutcome(m *cohort.Model, a *plan.Association) error {
	family := ""
	if a.Model != nil {
		family = a.Model.Family
	}
	v := s.outcome
	yes, levels := v.Kind == value.Bool, v.Levels() != nil
	switch {
	case family == proportionalFamily && (yes || !levels || !v.Ordered):
		return a.Outcome.Errorf(1, 1, "", "outcome %q of family %s, expected a variable whose categories have an order in the codebook", v.Name, family)
	case family == linearFamily && v.Kind != value.Number:
		return a.Outcome.Errorf(1, 1, "", "outcome %q is a %v, expected a number for family linear", v.Name, v.Kind)
	case yes:
		return nil
	case family == proportionalFamily || family == linearFamily:
	case !levels:
		return a.Outcome.Errorf(1, 1, "", "outcome %q is a %v, expected a boolean, a variable with categories, or a number for family linear", v.Name, v.Kind)
	case a.Model != nil || a.Adjust != nil || a.Cluster != nil || a.Impute != nil:
		return a.Outcome.Errorf(1, 1, "", "a model of outcome %q, which has categories, expected a boolean, or family proportional-odds for ordered categories", v.Name)
	}
	s.graded = true
	for _, k := range []struct {
		key     string
		written bool
	}{
		{"limits", a.Limits != nil},
		{"outcomes", a.Outcomes != ""},
		{"exact", a.Exact},
		{"unmeasured", a.Unmeasured != ""},
		{"misclassification", a.Misclassification != nil},
		{"negative_control", a.NegativeControl != nil},
		{"tests", a.Tests != nil && !levels},
		{"stratify", a.Stratify != nil && !levels},
	} {
		if k.written {
			return m.Plan.Fault(a.Position, "", fmt.Sprintf("%s goes with an outcome that is yes or no, but %q is a %v", k.key, v.Name, v.Kind))
		}
	}
	if slices.ContainsFunc(a.Tests, func(t document.String) bool { return t.Value == trendTest }) && !v.Ordered {
		return a.Outcome.Errorf(1, 1, "", "trend needs an order of both variables: the categories of %q have none in the codebook", v.Name)
	}
	return nil
}

// yesOf are the outcomes that are yes or no.
func yesOf(outcome []value.Value) []bool {
	y := make([]bool, len(outcome))
	for i, v := range outcome {
		y[i] = v.Bool
	}
	return y
}

// fitGraded fits the model of categories or of a number.
func (s *association) fitGraded(d *design, outcome []value.Value, cluster []int, level float64) (stats.Fit, error) {
	o := &s.fitting
	if o.family == linearFamily {
		y := make([]float64, len(outcome))
		for i, v := range outcome {
			y[i] = v.Number
		}
		f, err := stats.FitLinear(d.x, d.names(), y, o.options(cluster, level))
		return f.Fit, err
	}
	// Levels without a row are left out: the cut points beside them would not
	// differ.
	levels := s.outcome.Levels()
	seen := make([]bool, len(levels))
	at := make([]int, len(outcome))
	for i, v := range outcome {
		word, _ := valueLevel(v)
		at[i] = slices.Index(levels, word)
		if at[i] < 0 {
			return stats.Fit{}, fmt.Errorf("run: %q has the unknown level %q", s.outcome.Name, word)
		}
		seen[at[i]] = true
	}
	var kept []string
	place := make([]int, len(levels))
	for l, word := range levels {
		place[l] = len(kept)
		if seen[l] {
			kept = append(kept, word)
		}
	}
	y := make([]int, len(at))
	for i, l := range at {
		y[i] = place[l]
	}
	f, err := stats.FitProportionalOdds(d.x, d.names(), y, kept, stats.OrdinalOptions{Level: level, Cluster: cluster, Uncorrected: o.errors == string(stats.CR0)})
	return f.Fit, err
}

// gradedTable adds the table of exposure by the categories of the outcome and
// its tests.
func (s *association) gradedTable(b *builder, t *dataset.Table) {
	tables := s.gradedStrata(t)
	rows, columns := s.exposure.variable.Levels(), s.outcome.Levels()
	whole := emptyTable(len(rows), len(columns))
	n := 0
	for _, table := range tables {
		for i := range table {
			for j, k := range table[i] {
				whole[i][j] += k
				n += k
			}
		}
	}
	b.removed("rows", "exposure, outcome or a variable of the strata missing: not in the table", float64(t.Len()-n))
	for i, level := range rows {
		size := 0
		for _, k := range whole[i] {
			size += k
		}
		for j, word := range columns {
			of := group(s.exposure.variable.Name, level)
			r := b.row("table", "count", of)
			r.Variable, r.Term, r.N = s.outcome.Name, word, result.Number(size)
			b.add(number(r, float64(whole[i][j]), ""))
			r = b.row("table", "percent", of)
			r.Variable, r.Term, r.N, r.Events = s.outcome.Name, word, result.Number(size), result.Number(whole[i][j])
			share := math.NaN()
			if size > 0 {
				share = 100 * float64(whole[i][j]) / float64(size)
			}
			b.add(number(r, share, "no row has the level"))
		}
	}
	s.gradedTests(b, whole, tables, n)
}

// gradedStrata are the tables of exposure by outcome of each stratum, one
// without strata.
func (s *association) gradedStrata(t *dataset.Table) [][][]int {
	rows, columns := s.exposure.variable.Levels(), s.outcome.Levels()
	outcome, exposure := t.Column(s.outcome.Name), t.Column(s.exposure.variable.Name)
	tables, _ := s.byStratum(t, len(rows), len(columns), func(i int) (row, column int, ok bool) {
		word, known := levelText(exposure, i)
		grade, had := levelText(outcome, i)
		return slices.Index(rows, word), slices.Index(columns, grade), known && had
	})
	return tables
}

// emptyTable has zero counts.
func emptyTable(rows, columns int) [][]int {
	table := make([][]int, rows)
	for i := range table {
		table[i] = make([]int, columns)
	}
	return table
}

// gradedTests adds the tests of the table, or of its strata.
func (s *association) gradedTests(b *builder, whole [][]int, strata [][][]int, n int) {
	c := s.table2k
	b.set("tests", strings.Join(c.tests, ", "), c.written)
	outcomeScores := make([]float64, len(s.outcome.Levels()))
	for j := range outcomeScores {
		outcomeScores[j] = float64(j + 1)
	}
	if c.strata != nil {
		b.Methods += "General association within strata of " + s.nameStrata(b) + " is tested by the generalised Cochran-Mantel-Haenszel test"
		b.cite("Mantel 1959", "Landis 1978")
		test, err := stats.GeneralCochranMantelHaenszel(strata)
		b.test("tests", "general association within strata", test, n, err)
		if slices.Contains(c.tests, trendTest) {
			b.scoreSetting(s)
			b.Methods += " and linear-by-linear association within them by Mantel's test"
			b.cite("Mantel 1963")
			test, err := stats.StratifiedLinearByLinear(strata, c.scores, outcomeScores)
			b.test("tests", "linear-by-linear association within strata", test, n, err)
		}
		b.Methods += "."
		return
	}
	var said []string
	for _, test := range c.tests {
		if test == trendTest {
			b.scoreSetting(s)
			said = append(said, "linear-by-linear association over the scores")
			b.cite("Mantel 1963")
			t, err := stats.LinearByLinear(whole, c.scores, outcomeScores)
			b.test("tests", "linear-by-linear association", t, n, err)
			continue
		}
		said = append(said, s.tableTest(b, test, whole, n))
	}
	if said != nil {
		b.Methods += "The table is tested by " + listed(said) + "."
	}
}

// scoreSetting writes the scores of the exposure.
func (b *builder) scoreSetting(s *association) {
	var words []string
	for i, level := range s.exposure.variable.Levels() {
		words = append(words, level+" "+shortNumber(s.table2k.scores[i]))
	}
	b.set("scores", strings.Join(words, ", "), s.table2k.scored)
}

// tableTest adds a test of a table of any size and says which it is.
func (s *association) tableTest(b *builder, test string, table [][]int, n int) (said string) {
	switch test {
	case chiSquareTest:
		b.set("chi-square correction", "none", false)
		b.cite("Pearson 1900")
		t, err := stats.ChiSquare(table)
		b.test("tests", "chi-square", t, n, err)
		return "Pearson's chi-square without continuity correction"
	case likelihoodTest:
		t, err := stats.LikelihoodRatio(table)
		b.test("tests", "likelihood ratio test", t, n, err)
		return "the likelihood ratio"
	}
	t, err := s.fisher(b, table)
	b.test("tests", "Fisher exact test", t, n, err)
	return "Fisher's exact test, two-sided by the probability method"
}

// fisher is Fisher's exact test, from random tables where it is too large.
func (s *association) fisher(b *builder, table [][]int) (stats.Test, error) {
	b.cite("Freeman 1951")
	t, err := stats.Fisher(table)
	if !errors.Is(err, stats.ErrTooLarge) {
		return t, err
	}
	b.set("seed", strconv.FormatUint(s.table2k.seed, 10), s.table2k.seeded)
	b.cite("Patefield 1981")
	simulated, err := stats.FisherSimulated(table, stats.SimulationOptions{Seed: s.table2k.seed})
	return simulated.Test, err
}
