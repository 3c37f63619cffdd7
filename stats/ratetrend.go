package stats

import (
	"fmt"
	"math"
)

// RateHomogeneity tests whether all groups have one rate. Given all N events,
// those of group i are expected to be E = N T[i]/ΣT, and
//
//	Σ (events[i] − E)² / E
//
// is chi-squared with one degree of freedom less than groups. Repeated events
// of a child are taken to be independent. A warning says where an expected
// count is below five.
//
// It returns ErrNoPersonTime for a group without person-time, ErrNoEvents
// without events, and ErrNoVariance with fewer than two groups.
//
// Reference: Breslow NE, Day NE. Statistical Methods in Cancer Research, vol.
// II. IARC, 1987, p. 94-96.
func RateHomogeneity(events []int, personTime []float64) (Test, error) {
	const name = "homogeneity of rates"
	expected, err := expectedEvents(name, events, personTime)
	if err != nil {
		return Test{}, err
	}
	var sum Sum
	for i, e := range expected {
		d := float64(events[i]) - e
		sum.Add(d * d / e)
	}
	df := float64(len(events) - 1)
	return Test{
		Name: name, Statistic: sum.Total(), DF: df, P: chiSquaredTail(sum.Total(), df),
		Method: "Pearson chi-square given all events", Warnings: fewExpected(expected),
	}, nil
}

// RateTrend tests whether the rate rises or falls with a score of the groups,
// such as the middle of an age band:
//
//	(Σ x (events − E))² / (Σ x² E − (Σ x E)²/N)
//
// with E as for RateHomogeneity, chi-squared with one degree of freedom. It is
// the score test of a log-linear trend; shifting and scaling the scores
// changes nothing. It says nothing about other shapes.
//
// It returns the errors of RateHomogeneity, and ErrNoVariance when all scores
// are equal.
//
// Reference: Armitage P. Biometrics 1955;11:375-386. Breslow NE, Day NE.
// Statistical Methods in Cancer Research, vol. II. IARC, 1987, p. 96.
func RateTrend(events []int, personTime, score []float64) (Test, error) {
	const name = "trend of rates"
	if len(score) != len(events) {
		panic(fmt.Sprintf("stats: %d scores of %d groups", len(score), len(events)))
	}
	expected, err := expectedEvents(name, events, personTime)
	if err != nil {
		return Test{}, err
	}
	var total, weighted Sum
	for i, e := range expected {
		if math.IsNaN(score[i]) || math.IsInf(score[i], 0) {
			panic(fmt.Sprintf("stats: score %v of group %d, expected a finite number", score[i], i))
		}
		total.Add(e)
		weighted.Add(score[i] * e)
	}
	// Around the mean score, so that no digits cancel.
	mean := weighted.Total() / total.Total()
	var surplus, variance Sum
	for i, e := range expected {
		x := score[i] - mean
		surplus.Add(x * (float64(events[i]) - e))
		variance.Add(x * x * e)
	}
	if !(variance.Total() > 0) {
		return Test{}, fmt.Errorf("%s: %w in the scores", name, ErrNoVariance)
	}
	statistic := surplus.Total() * surplus.Total() / variance.Total()
	return Test{
		Name: name, Statistic: statistic, DF: 1, P: chiSquaredTail(statistic, 1),
		Method: "score test of a log-linear trend", Warnings: fewExpected(expected),
	}, nil
}

// expectedEvents are the events of each group if all had one rate.
func expectedEvents(name string, events []int, personTime []float64) ([]float64, error) {
	if len(events) != len(personTime) {
		panic(fmt.Sprintf("stats: %d counts and %d person-times", len(events), len(personTime)))
	}
	if len(events) < 2 {
		return nil, fmt.Errorf("%s: %w between %d groups, expected two or more", name, ErrNoVariance, len(events))
	}
	var time Sum
	n := 0
	for i, k := range events {
		if err := checkRate(fmt.Sprintf("%s, group %d", name, i+1), k, personTime[i]); err != nil {
			return nil, err
		}
		time.Add(personTime[i])
		n += k
	}
	if n == 0 {
		return nil, fmt.Errorf("%s: %w in any group", name, ErrNoEvents)
	}
	expected := make([]float64, len(events))
	for i, t := range personTime {
		expected[i] = float64(n) * (t / time.Total())
	}
	return expected, nil
}

// fewExpected warns where the chi-squared distribution is a poor guide.
func fewExpected(expected []float64) []Warning {
	least := math.Inf(1)
	for _, e := range expected {
		least = math.Min(least, e)
	}
	if least >= 5 {
		return nil
	}
	return []Warning{{Code: "few-expected", Text: fmt.Sprintf("The chi-squared distribution is doubtful: a group is expected to have %.1f events, fewer than 5.", least)}}
}
