package stats

import (
	"fmt"
	"math"
	"slices"
)

// A Multiplicity is a way to adjust p-values for their number.
type Multiplicity int

const (
	// Holm steps down; it bounds the probability of any false rejection whatever
	// the dependence, and rejects at least what Bonferroni does. The default.
	Holm Multiplicity = iota
	// Bonferroni multiplies by the number of tests.
	Bonferroni
	// Hochberg steps up; independent or positively dependent tests.
	Hochberg
	// BenjaminiHochberg bounds the expected share of false among all rejections;
	// independent or positively dependent tests.
	BenjaminiHochberg
	// BenjaminiYekutieli does so under any dependence.
	BenjaminiYekutieli
)

// String is the method's name.
func (m Multiplicity) String() string {
	switch m {
	case Holm:
		return "Holm"
	case Bonferroni:
		return "Bonferroni"
	case Hochberg:
		return "Hochberg"
	case BenjaminiHochberg:
		return "Benjamini-Hochberg"
	case BenjaminiYekutieli:
		return "Benjamini-Yekutieli"
	}
	return fmt.Sprintf("Multiplicity(%d)", int(m))
}

// AdjustedP are p-values adjusted for their number.
type AdjustedP struct {
	P      []float64 // in the order given; NaN where there was none
	Family int       // number of tests that were adjusted for
	Method Multiplicity
}

// AdjustP adjusts the p-values of a family of m tests. With p(1) ≤ … ≤ p(m) in
// order, the adjusted value of p(i) is
//
//	Bonferroni           m p(i)
//	Holm                 max over j ≤ i of (m−j+1) p(j)
//	Hochberg             min over j ≥ i of (m−j+1) p(j)
//	Benjamini-Hochberg   min over j ≥ i of m p(j)/j
//	Benjamini-Yekutieli  min over j ≥ i of m (1 + 1/2 + … + 1/m) p(j)/j,
//
// at most 1. A NaN, of a test that could not be made, stays NaN and does not
// count for m: Family tells m, and a family that was planned larger must be
// adjusted by its plan. A value outside 0 to 1 is the caller's mistake. It
// returns ErrNoData where every value is NaN or there is none.
//
// References: Holm S. A simple sequentially rejective multiple test procedure.
// Scand J Stat 1979;6:65-70. Hochberg Y. A sharper Bonferroni procedure for
// multiple tests of significance. Biometrika 1988;75:800-802. Benjamini Y,
// Hochberg Y. Controlling the false discovery rate: a practical and powerful
// approach to multiple testing. J R Stat Soc B 1995;57:289-300. Benjamini Y,
// Yekutieli D. The control of the false discovery rate in multiple testing under
// dependency. Ann Stat 2001;29:1165-1188.
func AdjustP(p []float64, method Multiplicity) (AdjustedP, error) {
	a := AdjustedP{P: slices.Clone(p), Method: method}
	var order []int
	for i, x := range p {
		if math.IsNaN(x) {
			continue
		}
		if !(x >= 0 && x <= 1) {
			panic(fmt.Sprintf("stats: p-value %v, expected 0 to 1", x))
		}
		order = append(order, i)
	}
	a.Family = len(order)
	if a.Family == 0 {
		return a, fmt.Errorf("adjusted p-values: %w", ErrNoData)
	}
	slices.SortStableFunc(order, func(i, j int) int {
		if p[i] < p[j] {
			return -1
		} else if p[i] > p[j] {
			return 1
		}
		return 0
	})
	m := float64(a.Family)
	var factor func(rank float64) float64
	down := false // the largest of those before, not the smallest of those after
	switch method {
	case Bonferroni:
		for _, i := range order {
			a.P[i] = math.Min(1, m*p[i])
		}
		return a, nil
	case Holm:
		factor, down = func(rank float64) float64 { return m - rank + 1 }, true
	case Hochberg:
		factor = func(rank float64) float64 { return m - rank + 1 }
	case BenjaminiHochberg:
		factor = func(rank float64) float64 { return m / rank }
	case BenjaminiYekutieli:
		harmonic := 0.0
		for k := 1.0; k <= m; k++ {
			harmonic += 1 / k
		}
		factor = func(rank float64) float64 { return harmonic * m / rank }
	default:
		panic(fmt.Sprintf("stats: unknown Multiplicity %d", method))
	}
	if down {
		least := 0.0
		for k, i := range order {
			least = math.Max(least, math.Min(1, factor(float64(k+1))*p[i]))
			a.P[i] = least
		}
		return a, nil
	}
	most := 1.0
	for k := len(order) - 1; k >= 0; k-- {
		most = math.Min(most, factor(float64(k+1))*p[order[k]])
		a.P[order[k]] = most
	}
	return a, nil
}
