package run

import (
	"errors"
	"fmt"
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
	"heelcohort/stats"
)

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
	b.set("limits of odds ratios", "Woolf; exact conditional where a count is zero", false)
	risk, ratio, difference := b.riskLimits(s.limits)
	b.set("chi-square correction", "none", false)
	b.Methods = fmt.Sprintf("Crude odds ratios have Woolf's limits (the exact conditional estimate and limits where a count is zero), risk ratios %s, risk differences %s, and risks %s. The table is tested by Pearson's chi-square without continuity correction and by Fisher's exact test, two-sided by the probability method.", ratio.sentence, difference.sentence, risk.sentence)
	b.cite("Woolf 1955", "Cornfield 1956")
	b.cite(slices.Concat(ratio.cite, difference.cite, risk.cite)...)
	b.cite("Pearson 1900", "Freeman 1951")
	name := s.exposure.variable.Name
	for i, level := range levels {
		r := b.row("counts", "risk")
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
		{"odds ratio", oddsRatio}, {"risk ratio", ratio.method}, {"risk difference", difference.method},
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
	var filled [][]int
	for i := range counts {
		if counts[i][0]+counts[i][1] > 0 {
			filled = append(filled, counts[i])
		}
	}
	chi, err := stats.ChiSquare(filled)
	b.test("tests", "chi-square", chi, n, err)
	fisher, err := stats.Fisher(filled)
	b.test("tests", "Fisher exact test", fisher, n, err)
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
