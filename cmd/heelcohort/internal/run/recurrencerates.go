package run

import (
	"fmt"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// spells adds the children by their number of spells.
func (s *recurrence) spells(b *builder, g []result.Group, children []*followedChild) {
	var by [4]int
	for _, one := range children {
		by[min(len(one.counted()), 3)]++
	}
	for n, count := range by {
		term := strconv.Itoa(n)
		if n == 3 {
			term = "3 or more"
		}
		b.shareRows("spells", term, count, len(children), g)
	}
}

// shareRows adds a count and its percentage.
func (b *builder) shareRows(part, term string, n, of int, g []result.Group) {
	r := b.row(part, "count", g...)
	r.Term = term
	b.add(number(r, float64(n), ""))
	r = b.row(part, "percent", g...)
	r.Term, r.N, r.Events = term, result.Number(of), result.Number(n)
	share := nan
	if of > 0 {
		share = 100 * float64(n) / float64(of)
	}
	b.add(number(r, share, "none of which a share could be"))
}

// rates adds the rates of first and of further spells, and their ratio.
func (s *recurrence) rates(b *builder, g []result.Group, children []*followedChild) {
	var first, later stats.ClusterEvents
	most := 0.0
	atRisk, seen, time := [2]int{}, [2]int{}, [2]stats.Sum{}
	each := stats.Losses{}
	for i, one := range children {
		n := [2]float64{}
		for _, x := range one.counted() {
			k := 0
			if x.from != one.spells[0].from {
				k = 1
				each.Child, each.Days = append(each.Child, i), append(each.Days, 1)
			}
			n[k]++
			seen[k]++
		}
		most = max(most, n[1])
		for k, t := range []float64{one.firstTime, one.laterTime} {
			time[k].Add(t)
			if t > 0 {
				atRisk[k]++
			}
		}
		first.Events, first.PersonTime = append(first.Events, n[0]), append(first.PersonTime, one.firstTime)
		later.Events, later.PersonTime = append(later.Events, n[1]), append(later.PersonTime, one.laterTime)
	}
	for k, term := range []string{"first", "recurrent"} {
		r := b.row("rates", "incidence rate", g...)
		r.Term, r.Unit = term, s.m.perUnit()
		r.Events, r.PersonTime, r.N = result.Number(seen[k]), result.Number(time[k].Total()), result.Number(atRisk[k])
		if k == 0 || most < 2 {
			e, err := stats.Rate(seen[k], time[k].Total(), stats.RateOptions{Level: b.level, Per: s.per})
			b.add(b.estimate(r, e, err))
			continue
		}
		// Several recurrences of a child: one day of burden each, by child.
		e, err := stats.Burden(later.PersonTime, each, stats.BurdenOptions{Level: b.level, Per: s.per, Limits: stats.BurdenLog})
		b.add(b.estimate(r, e, err))
	}
	r := b.row("ratios", "rate ratio", g...)
	r.Term, r.Events = "recurrent vs first", result.Number(seen[0]+seen[1])
	if seen[0] == 0 || seen[1] == 0 {
		e, err := stats.RateRatio(seen[1], time[1].Total(), seen[0], time[0].Total(), stats.RateRatioOptions{Level: b.level})
		b.add(b.estimate(r, e, err))
	} else {
		e, err := stats.ClusterRateRatio(later, first, stats.LimitOptions{Level: b.level})
		b.add(b.estimate(r, e, err))
	}
	if len(g) > 0 {
		return
	}
	b.set("limits of rates", "exact Poisson; robust to dependence within children where one has several recurrences", false)
	b.set("limits of the rate ratio", "robust to dependence within children; exact conditional where a rate is 0", false)
	b.Methods += " Limits of rates are exact Poisson limits, or robust to dependence within children where a child has several recurrences; those of the ratio of the rates are robust too, and exact where a rate is 0."
	b.cite("Liang 1986", "Przyborowski 1940")
	b.warn("The ratio compares children who have had a spell with those who have not yet: it is larger than 1 also where children merely differ in how prone they are.")
}

// The classes of recurrences by the time since the spell before was over.
const daysPerMonth = stats.DaysPerYear / 12

var returnClasses = []struct {
	term   string
	months float64 // up to and including; 0: any more
}{{"early", 2}, {"late", 12}, {"delayed", 0}}

// returns adds the recurrences by the time since the spell before was over.
func (s *recurrence) returns(b *builder, g []result.Group, children []*followedChild) {
	if s.end == nil {
		return
	}
	counts := make([]int, len(returnClasses))
	total := 0
	for _, one := range children {
		for _, x := range one.counted() {
			if x.from == one.spells[0].from {
				continue
			}
			total++
			for i, c := range returnClasses {
				if c.months == 0 || x.free <= c.months*daysPerMonth {
					counts[i]++
					break
				}
			}
		}
	}
	for i, c := range returnClasses {
		b.shareRows("return", c.term, counts[i], total, g)
	}
	if len(g) > 0 {
		return
	}
	b.set("month", fmt.Sprintf("%g days", daysPerMonth), false)
	b.Methods += " Recurrences within two months of the end of the spell before are early, within twelve late, after that delayed."
	b.cite("Fuller 2006")
}
