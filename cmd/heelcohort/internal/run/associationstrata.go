package run

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// pooled adds, for each level of the exposure against the reference, the odds
// ratio, risk ratio and risk difference pooled over strata, the test of no
// association within them, and the tests of one value in all of them.
func (s *association) pooled(b *builder, t *dataset.Table) {
	c := s.table2k
	if c.strata == nil {
		return
	}
	labels := s.nameStrata(b)
	b.Methods += fmt.Sprintf(" Ratios and differences are pooled over %s by Mantel and Haenszel's weights, odds ratios with limits by Robins, Breslow and Greenland, %s ratios by Greenland and Robins, %s differences by Sato; the odds ratio is tested for being one in all strata by Breslow and Day's test with Tarone's correction.",
		labels, c.share, c.share)
	b.cite("Mantel 1959", "Robins 1986", "Greenland 1985", "Sato 1989", "Breslow 1980", "Tarone 1985")
	if c.exact {
		b.Methods += " The exact common odds ratio is the conditional one, given all margins of all strata, and Zelen's exact test is of its being one in all."
		b.cite("Gart 1970", "Zelen 1971")
	}
	levels := s.exposure.variable.Levels()
	tables, lacking := s.strata(t)
	b.removed("rows", "a variable of the strata missing: not in the pooled estimates", float64(lacking))
	reference := s.exposure.reference
	for l, level := range levels {
		if l == reference {
			continue
		}
		var strata []stats.TableStratum
		n, events := 0, 0
		for _, table := range tables {
			x := stats.TableStratum{A: table[l][0], B: table[l][1], C: table[reference][0], D: table[reference][1]}
			strata = append(strata, x)
			if x.A+x.B > 0 && x.C+x.D > 0 {
				n, events = n+x.A+x.B+x.C+x.D, events+x.A+x.C
			}
		}
		row := func(measure string) result.Row {
			r := b.row("pooled", measure)
			r.Variable, r.Term = s.exposure.variable.Name, level+" vs "+levels[reference]
			r.N, r.Events = result.Number(n), result.Number(events)
			return r
		}
		test := func(measure string, t stats.Test, err error) {
			r := b.testRow("pooled", measure, t, err)
			r.Variable, r.Term, r.N = s.exposure.variable.Name, level+" vs "+levels[reference], result.Number(n)
			b.add(r)
		}
		limits := stats.LimitOptions{Level: b.level}
		odds, err := stats.MantelHaenszelOddsRatio(strata, limits)
		b.add(b.estimate(row("pooled odds ratio"), odds, err))
		ratio, err := stats.MantelHaenszelRiskRatio(strata, limits)
		b.add(b.estimate(row("pooled "+c.share+" ratio"), ratio, err))
		difference, err := stats.MantelHaenszelRiskDifference(strata, stats.PooledDifferenceOptions{Level: b.level})
		b.add(b.estimate(row("pooled "+c.share+" difference"), difference, err))
		none, err := stats.CochranMantelHaenszel(strata, stats.CMHOptions{})
		test("Cochran-Mantel-Haenszel test", none, err)
		one, err := stats.OddsRatioHomogeneity(strata, stats.HomogeneityOptions{})
		test("homogeneity of odds ratios", one, err)
		one, err = stats.RiskRatioHomogeneity(strata)
		test("homogeneity of "+c.share+" ratios", one, err)
		one, err = stats.RiskDifferenceHomogeneity(strata)
		test("homogeneity of "+c.share+" differences", one, err)
		if c.exact {
			exact, err := stats.CommonOddsRatioExact(strata, stats.ExactOptions{Level: b.level})
			b.add(b.estimate(row("exact common odds ratio"), exact, err))
			one, err = stats.HomogeneityExact(strata)
			test("exact homogeneity of odds ratios", one, err)
		}
	}
}

// nameStrata notes the variables of the strata and lists their labels.
func (s *association) nameStrata(b *builder) string {
	var names, labels []string
	for _, v := range s.table2k.strata {
		b.name(v)
		names, labels = append(names, v.Name), append(labels, lowerLabel(v))
	}
	b.set("stratify", strings.Join(names, ", "), true)
	return strings.Join(labels, " and ")
}

// strata are the tables of exposure by outcome (yes, no) of each combination of
// the strata's levels that has rows, in order, and the rows that have no
// stratum.
func (s *association) strata(t *dataset.Table) (tables [][][]int, lacking int) {
	levels := s.exposure.variable.Levels()
	outcome, exposure := t.Column(s.outcome.Name), t.Column(s.exposure.variable.Name)
	return s.byStratum(t, len(levels), 2, func(i int) (row, column int, ok bool) {
		level, known := levelText(exposure, i)
		had := outcome.Value(i)
		if had.Missing || !known {
			return 0, 0, false
		}
		if !had.Bool {
			column = 1
		}
		return slices.Index(levels, level), column, true
	})
}

// byStratum counts the rows whose cell is known in tables, one for each
// combination of the strata's levels that has rows, in order.
func (s *association) byStratum(t *dataset.Table, rows, columns int, cell func(i int) (row, column int, ok bool)) (tables [][][]int, lacking int) {
	byKey := map[int][][]int{}
	for i := range t.Len() {
		row, column, ok := cell(i)
		if !ok {
			continue
		}
		key, whole := 0, true
		for _, v := range s.table2k.strata {
			word, ok := levelText(t.Column(v.Name), i)
			whole = whole && ok
			key = key*len(v.Levels()) + max(0, slices.Index(v.Levels(), word))
		}
		if !whole {
			lacking++
			continue
		}
		if byKey[key] == nil {
			byKey[key] = emptyTable(rows, columns)
		}
		byKey[key][row][column]++
	}
	var keys []int
	for k := range byKey {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	for _, k := range keys {
		tables = append(tables, byKey[k])
	}
	return tables, lacking
}
