package run

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// pooled adds the Mantel-Haenszel ratio and difference of each level against
// the reference over the strata, and the test of one ratio in all strata.
func (s *incidence) pooled(b *builder, p *persontime) {
	over := s.choices.strata
	if over < 0 {
		return
	}
	g := 1 - over
	v := s.by[g].variable
	levels, reference := v.Levels(), s.references[g]
	b.set("stratify", s.by[over].variable.Name, true)
	b.Methods += fmt.Sprintf(" Rate ratios and differences of %s are pooled over %s by Mantel and Haenszel's weights with Greenland and Robins's limits, and the ratio is tested for being one in all strata.",
		lowerLabel(v), lowerLabel(s.by[over].variable))
	b.cite("Greenland 1985", "Rothman 1998")
	apart := s.apart(p, -1)
	for l, level := range levels {
		if l == reference {
			continue
		}
		strata := s.strata(p, over, l, reference)
		events := 0
		for _, x := range strata {
			if x.PersonTime1 > 0 && x.PersonTime0 > 0 {
				events += x.Events1 + x.Events0
			}
		}
		finish := func(r result.Row) result.Row {
			r.Variable, r.Term, r.Events = v.Name, level+" vs "+levels[reference], result.Number(events)
			return r
		}
		ratio, err := stats.MantelHaenszelRateRatio(strata, stats.LimitOptions{Level: b.level})
		b.add(finish(b.estimate(b.row("pooled", "pooled rate ratio"), ratio, s.unlessShared(apart, over, err))))
		difference, err := stats.MantelHaenszelRateDifference(strata, stats.RateOptions{Level: b.level, Per: s.per})
		r := finish(b.estimate(b.row("pooled", "pooled rate difference"), difference, s.unlessShared(apart, over, err)))
		r.Unit = s.perUnit()
		b.add(r)
		test, err := stats.RateRatioHomogeneity(strata)
		b.add(finish(b.testRow("pooled", "homogeneity of rate ratios", test, s.unlessShared(apart, over, err))))
	}
}

// unlessShared is err, or why strata that share person-time are not used.
func (s *incidence) unlessShared(apart bool, over int, err error) error {
	if apart {
		return err
	}
	label := s.by[over].variable.Label
	if len(s.by) == 2 {
		label += " or " + s.by[1-over].variable.Label
	}
	return fmt.Errorf(shared, label)
}

// strata are a level and the reference of one grouping in the levels of the
// other.
func (s *incidence) strata(p *persontime, over, level, reference int) []stats.RateStratum {
	var strata []stats.RateStratum
	for x := range s.by[over].variable.Levels() {
		at := make([]int, 2)
		at[over], at[1-over] = x, level
		one := p.sum(at)
		at[1-over] = reference
		zero := p.sum(at)
		strata = append(strata, stats.RateStratum{Events1: one.events, PersonTime1: one.time, Events0: zero.events, PersonTime0: zero.time})
	}
	return strata
}
