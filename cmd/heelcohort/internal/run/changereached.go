package run

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// reachedBy reports whether a value reaches the threshold from a baseline. known
// is false where the baseline is not above 0, of which percent are none. A
// billionth of either value is left to rounding.
func (k *threshold) reachedBy(base, x float64) (yes, known bool) {
	p, sign := k.plan, 1.0
	if p.Direction == lowerWord {
		sign = -1
	}
	slack := 1e-9 * math.Max(1, math.Max(math.Abs(base), math.Abs(x)))
	switch {
	case p.Value != nil:
		return sign*(x-*p.Value) >= -slack, true
	case p.Change != nil:
		return sign*(x-base) >= *p.Change-slack, true
	}
	return sign*(x-base) >= *p.Percent/100*base-slack, base > 0
}

// reached adds the share of each group that reach the threshold at each visit,
// and its difference from the reference.
func (s *change) reached(b *builder, f *followed, groups [][]result.Group) {
	unknown, before, barred := 0, 0, 0
	for _, one := range f.subjects {
		if base, ok := f.number(one, 0); ok {
			had, known := s.threshold.reachedBy(base, base)
			if !known {
				unknown++
			} else if had {
				before++
			}
			if could, _ := s.threshold.reachedBy(base, s.threshold.end); known && !could && !math.IsNaN(s.threshold.end) {
				barred++
			}
		}
	}
	b.removed("subjects", "the baseline is not above 0: percent of it are none", float64(unknown))
	b.removed("subjects", "at the threshold at the baseline already: not in the time until then", float64(before))
	if before > 0 {
		b.warn(fmt.Sprintf("%d subjects have %s at the baseline already: they count among the shares at the visits, and are left out of the time until then.", before, s.said()))
	}
	if barred > 0 {
		b.warn(fmt.Sprintf("%d subjects have a baseline from which the scale, which ends at %v, has no room for %s: they count as not having reached it.", barred, s.threshold.end, s.said()))
	}
	for v := 1; v < len(s.visit.Words); v++ {
		var had, exposed []bool
		var cluster, level []int
		for _, one := range f.subjects {
			base, ok := f.number(one, 0)
			x, also := f.number(one, v)
			if !ok || !also {
				continue
			}
			if yes, known := s.threshold.reachedBy(base, x); known {
				had, cluster, level = append(had, yes), append(cluster, one.cluster), append(level, one.group)
			}
		}
		exposed = make([]bool, len(had))
		for g, of := range groups {
			own, ids := s.ofGroup(had, cluster, level, g)
			r := b.row("reached", "proportion", s.at(of, v)...)
			r.Variable, r.N, r.Events = s.value.Name, result.Number(len(own)), result.Number(countTrue(own))
			e, err := stats.ClusterProportion(own, ids, b.level)
			b.add(b.estimate(r, e, err))
		}
		for g, of := range groups {
			if g == 0 || g-1 == s.by.reference {
				continue
			}
			one, ids := s.ofGroup(had, cluster, level, g)
			zero, others := s.ofGroup(had, cluster, level, s.by.reference+1)
			all := append(append([]bool{}, one...), zero...)
			exposed = exposed[:0]
			for i := range all {
				exposed = append(exposed, i < len(one))
			}
			r := b.row("reached", "risk difference", s.at(of, v)...)
			r.Variable, r.Term = s.value.Name, "vs "+s.by.variable.Levels()[s.by.reference]
			r.N, r.Events = result.Number(len(all)), result.Number(countTrue(all))
			e, err := stats.ClusterRiskDifference(all, exposed, append(append([]int{}, ids...), others...), b.level)
			b.add(b.estimate(r, e, err))
		}
	}
}

// ofGroup picks the rows of a group by its place among groups.
func (s *change) ofGroup(had []bool, cluster, level []int, g int) (own []bool, ids []int) {
	for i, yes := range had {
		if g == 0 || level[i] == g-1 {
			own, ids = append(own, yes), append(ids, cluster[i])
		}
	}
	return own, ids
}

func countTrue(list []bool) int {
	n := 0
	for _, yes := range list {
		if yes {
			n++
		}
	}
	return n
}

// times adds the time from the baseline visit to the threshold, seen between
// visits.
func (s *change) times(b *builder, f *followed, groups [][]result.Group) error {
	curves := &timeToEvent{
		plan: &plan.TimeToEvent{At: s.threshold.plan.At}, limits: stats.LimitsLogLog, unit: "days", by: s.by, cluster: s.cluster,
		between: &seenBetween{seed: s.threshold.seed, replicates: s.threshold.replicates},
	}
	unseen := 0
	for g, of := range groups {
		o := &observed{}
		n, reached := 0, 0
		for _, one := range s.members(f, g) {
			left, right, in, seen := s.between(f, one)
			if in && !seen && g == 0 {
				unseen++
			}
			if !in || !seen {
				continue
			}
			n++
			if !math.IsInf(right, 1) {
				reached++
			}
			o.left, o.right = append(o.left, left), append(o.right, right)
			if s.cluster != nil {
				o.cluster = append(o.cluster, one.cluster)
			}
		}
		r := b.row("time", "subjects", of...)
		r.Events, r.Censored = result.Number(reached), result.Number(n-reached)
		b.add(number(r, float64(n), ""))
		if err := curves.seenBetween(b, of, o); err != nil {
			return err
		}
	}
	b.removed("subjects", "no value after the baseline: not in the time to the threshold", float64(unseen))
	return nil
}

// between is the last visit without the threshold and the first with it, in days
// after the baseline visit; right is +Inf where none has it. in is false for a
// subject that cannot reach it, seen where no later visit has a value.
func (s *change) between(f *followed, one *subject) (left, right float64, in, seen bool) {
	base, ok := f.number(one, 0)
	if !ok {
		return 0, 0, false, false
	}
	if had, known := s.threshold.reachedBy(base, base); had || !known {
		return 0, 0, false, false
	}
	start := one.start
	right = math.Inf(1)
	for k, row := range one.rows {
		v := f.values[row]
		if one.days[k] <= start || v.Missing || one.at[k] == visitSkipped {
			continue
		}
		seen = true
		if yes, _ := s.threshold.reachedBy(base, v.Number); yes {
			right = math.Min(right, one.days[k]-start)
		}
	}
	for k, row := range one.rows {
		day := one.days[k] - start
		if v := f.values[row]; day > 0 && day < right && !v.Missing && one.at[k] != visitSkipped {
			left = math.Max(left, day)
		}
	}
	return left, right, true, seen
}
