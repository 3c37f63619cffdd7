package stats

import (
	"fmt"
	"math"
)

// TrendOptions are the choices of ProportionTrend.
type TrendOptions struct {
	SmallSample bool // multiply the variance by N/(N−1)
}

// ProportionTrend is the test of Cochran and Armitage whether the share with
// the outcome rises or falls with a score of the groups, such as the middle of
// an age band. events[i] of n[i] persons of group i have the outcome:
//
//	(Σ x (events − E))² / (p q (Σ x² n − (Σ x n)²/N))
//
// with E = n p, p = Σ events/N and q = 1−p, chi-squared with one degree of
// freedom. With SmallSample the variance is multiplied by N/(N−1), that of the
// distribution given all margins, which makes it Mantel's (N−1) r². Shifting
// and scaling the scores changes nothing. It says nothing about other shapes.
//
// A warning says where a group is expected to have fewer than five persons with
// or without the outcome. It returns ErrNoData when a group is empty,
// ErrNoEvents when nobody has the outcome, and ErrNoVariance when everybody has
// it, all scores are equal or there are fewer than two groups.
//
// References: Cochran WG. Biometrics 1954;10:417-451. Armitage P. Tests for
// linear trends in proportions and frequencies. Biometrics 1955;11:375-386.
// Mantel N. J Am Stat Assoc 1963;58:690-700 (N−1).
func ProportionTrend(events, n []int, score []float64, opts TrendOptions) (Test, error) {
	const name = "trend of proportions"
	c, err := newTrendCounts(name, events, n, score)
	if err != nil {
		return Test{}, err
	}
	var square, weighted Sum
	p, q := float64(c.events)/float64(c.persons), float64(c.persons-c.events)/float64(c.persons)
	smallest := math.Inf(1)
	for i, x := range c.score {
		weighted.Add(x * (float64(events[i]) - p*float64(n[i])))
		square.Add(x * x * float64(n[i]))
		smallest = math.Min(smallest, float64(n[i])*math.Min(p, q))
	}
	variance := p * q * square.Total()
	method := "Cochran-Armitage, variance without the factor N/(N-1)"
	if opts.SmallSample {
		variance *= float64(c.persons) / float64(c.persons-1)
		method = "Cochran-Armitage, variance with the factor N/(N-1)"
	}
	statistic := weighted.Total() * weighted.Total() / variance
	t := Test{Name: name, Statistic: statistic, DF: 1, P: chiSquaredTail(statistic, 1), Method: method}
	if smallest < 5 {
		t.Warnings = []Warning{{"few-expected", fmt.Sprintf(
			"The chi-squared distribution is doubtful: a group is expected to have %.1f persons with or without the outcome, fewer than 5.", smallest)}}
	}
	return t, nil
}

// TrendDeparture tests whether the shares with the outcome depart from the
// straight line in the score that ProportionTrend tests: Pearson's chi-square
// less the statistic of Cochran and Armitage, chi-squared on the groups less
// two. A small value does not show that the line is straight.
//
// Warnings are those of ProportionTrend. It returns its errors, and
// ErrNoVariance with fewer than three groups.
//
// Reference: Armitage P. Biometrics 1955;11:375-386.
func TrendDeparture(events, n []int, score []float64) (Test, error) {
	const name = "departure from a trend of proportions"
	if len(events) < 3 {
		return Test{}, fmt.Errorf("%s: %w about a line through %d groups, expected three or more", name, ErrNoVariance, len(events))
	}
	trend, err := ProportionTrend(events, n, score, TrendOptions{})
	if err != nil {
		return Test{}, err
	}
	table := make([][]int, len(events))
	for i, k := range events {
		table[i] = []int{k, n[i] - k}
	}
	all, err := ChiSquare(table)
	if err != nil {
		return Test{}, err
	}
	statistic, df := math.Max(0, all.Statistic-trend.Statistic), float64(len(events)-2)
	return Test{
		Name: name, Statistic: statistic, DF: df, P: chiSquaredTail(statistic, df),
		Method: "Pearson chi-square less Cochran-Armitage", Warnings: trend.Warnings,
	}, nil
}

// trendCounts are the checked input of a test of trend.
type trendCounts struct {
	score           []float64 // less their mean over persons
	events, persons int
}

func newTrendCounts(name string, events, n []int, score []float64) (c trendCounts, err error) {
	if len(n) != len(events) || len(score) != len(events) {
		panic(fmt.Sprintf("stats: %d counts, %d sizes and %d scores", len(events), len(n), len(score)))
	}
	if len(events) < 2 {
		return c, fmt.Errorf("%s: %w between %d groups, expected two or more", name, ErrNoVariance, len(events))
	}
	for i, k := range events {
		if k < 0 || k > n[i] {
			panic(fmt.Sprintf("stats: %d of %d persons in group %d", k, n[i], i))
		}
		if n[i] == 0 {
			return c, fmt.Errorf("%s, group %d: %w", name, i+1, ErrNoData)
		}
		c.events += k
		c.persons += n[i]
	}
	switch c.events {
	case 0:
		return c, fmt.Errorf("%s: %w in any group", name, ErrNoEvents)
	case c.persons:
		return c, fmt.Errorf("%s: everybody has the outcome: %w", name, ErrNoVariance)
	}
	c.score, err = centredScores(name, score, n)
	return c, err
}

// centredScores are the scores less their mean with weights n, so that no
// digits cancel.
func centredScores(name string, score []float64, n []int) ([]float64, error) {
	var sum, weight Sum
	least, most := math.Inf(1), math.Inf(-1)
	for i, x := range score {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			panic(fmt.Sprintf("stats: score %v of group %d, expected a finite number", x, i))
		}
		if n[i] == 0 {
			continue
		}
		sum.Add(x * float64(n[i]))
		weight.Add(float64(n[i]))
		least, most = math.Min(least, x), math.Max(most, x)
	}
	if !(least < most) {
		return nil, fmt.Errorf("%s: %w in the scores", name, ErrNoVariance)
	}
	out := make([]float64, len(score))
	for i, x := range score {
		out[i] = x - sum.Total()/weight.Total()
	}
	return out, nil
}
