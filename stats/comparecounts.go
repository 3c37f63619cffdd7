package stats

import (
	"fmt"
	"slices"
)

// A CountTest compares the event rates of groups of children.
type CountTest struct {
	Children []int     // of each group
	Observed []float64 // events of each group
	Expected []float64 // events expected if all groups had one rate
	Test     Test
}

// CompareMeanCounts tests whether k groups have the same rate of recurring
// events at all times. group holds the group of each child's rows, 0 to k−1.
// With d events among n children at risk at a time, n_g of them of group g, the
// groups' surplus is U_g = Σ (d_g − d n_g/n); its variance is the sum over
// children of the outer products of
//
//	u_ig = Σ ([i in g] − n_g/n) (d_i − d y_i/n)
//
// y_i telling whether child i is at risk, so that the events of one child may
// depend on each other in any way. U' V⁻ U is referred to the chi-squared
// distribution on the groups less one. It is the score test of a proportional
// rates model with robust variance. Terminal exits are censoring here: rates
// are compared among those still at risk.
//
// Rows and errors are as for MeanCumulativeCount; ErrNoVariance says that fewer
// than two groups have children, or that no two are ever at risk together. A
// child with rows of several groups is the caller's mistake.
//
// References: Lawless JF, Nadeau C. Technometrics 1995;37:158-168. Lin DY, Wei
// LJ, Yang I, Ying Z. J R Stat Soc B 2000;62:711-730.
func CompareMeanCounts(t Times, child, group []int, k int) (CountTest, error) {
	const name = "comparison of mean cumulative counts"
	r := CountTest{Children: make([]int, k), Observed: make([]float64, k), Expected: make([]float64, k)}
	number, children, err := checkChildren(name, t, child, make([]bool, len(child)))
	if err != nil {
		return r, err
	}
	of := slices.Repeat([]int{-1}, children)
	for i, who := range number {
		g := group[i]
		if g < 0 || g >= k {
			panic(fmt.Sprintf("stats: group %d of row %d, expected 0 to %d", g, i+1, k-1))
		}
		switch of[who] {
		case -1:
			of[who] = g
			r.Children[g]++
		case g:
		default:
			panic(fmt.Sprintf("stats: child %d has rows of groups %d and %d", child[i], of[who], g))
		}
	}
	if !slices.Contains(t.Status, true) {
		return r, fmt.Errorf("%s of %d children: %w", name, children, ErrNoEvents)
	}
	u := newMatrix(children, k)
	atRisk, events := make([]bool, children), make([]float64, children)
	for _, at := range stepTimes(t, make([]bool, len(child))) {
		clear(atRisk)
		clear(events)
		n, d := 0.0, 0.0
		share := make([]float64, k)
		for i, who := range number {
			if !(t.entry(i) < at && at <= t.Exit[i]) && !(t.Entry == nil && at == 0 && t.Exit[i] == 0) {
				continue
			}
			atRisk[who] = true
			n++
			share[of[who]]++
			if at == t.Exit[i] && t.Status[i] {
				events[who]++
				d++
				r.Observed[of[who]]++
			}
		}
		for g := range share {
			share[g] /= n
			r.Expected[g] += float64(d * share[g])
		}
		for who, here := range atRisk {
			if !here {
				continue
			}
			surplus := events[who] - d/n
			for g := range share {
				one := 0.0
				if of[who] == g {
					one = 1
				}
				u[who][g] += float64((one - share[g]) * surplus)
			}
		}
	}
	variance := newMatrix(k, k)
	for _, own := range u {
		for g, x := range own {
			for h, y := range own {
				variance[g][h] += float64(x * y)
			}
		}
	}
	r.Test, err = compareGroups(name, "children", r.Children, r.Observed, r.Expected, variance)
	r.Test.Method = "score test, robust to dependence within children, chi-squared"
	r.Test.Warnings = append(r.Test.Warnings, clusterWarnings(children)...)
	return r, err
}
