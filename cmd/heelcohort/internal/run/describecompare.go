package run

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
	"heelcohort/stats"
)

const (
	welchNumbers   = "welch"
	studentNumbers = "student"
	rankNumbers    = "rank-sum"
	noTest         = "none"
)

// compareSettings notes what compares the groups of a description.
func (d *describe) compareSettings(b *builder) {
	if d.tests != nil {
		b.set("tests of numbers", d.tests.Numbers, true)
		b.set("tests of categories", d.tests.Categories, true)
		b.Methods += " Groups are tested, rows being taken to be independent and P values not adjusted for their number:"
		switch d.tests.Numbers {
		case welchNumbers:
			b.Methods += " numbers by Welch's t test, of more than two groups by Welch's analysis of variance;"
			b.cite("Welch 1947", "Welch 1951")
		case studentNumbers:
			b.Methods += " numbers by Student's t test, of more than two groups by analysis of variance;"
			b.cite("Student 1908")
		case rankNumbers:
			b.Methods += " numbers by the rank-sum test (exact up to 60 values), of more than two groups by that of Kruskal and Wallis;"
			b.cite("Mann 1947", "Kruskal 1952")
		}
		switch d.tests.Categories {
		case chiSquareTest:
			b.Methods += " categories by Pearson's chi-square without continuity correction."
			b.cite("Pearson 1900")
		case fisherTest:
			b.Methods += " categories by Fisher's exact test."
			b.cite("Freeman 1951")
		}
	}
	if d.apart {
		b.Methods += " Standardised differences are of means over the root of the mean variance, of categories the distance of their shares over the mean covariance; of more than two groups the largest of any two is given."
		b.cite("Austin 2009", "Yang 2012")
	}
}

// compare adds the test and the standardised difference of a variable.
func (d *describe) compare(b *builder, v cohort.Variable, column *dataset.Column, members [][]int) {
	var numbers [][]float64
	var counts [][]int
	n := 0
	for _, rows := range members {
		var own []float64
		of := make([]int, len(v.Levels()))
		for _, i := range rows {
			if v.Levels() == nil {
				if x := column.Value(i); !x.Missing {
					own = append(own, x.Number)
					n++
				}
			} else if level, ok := levelText(column, i); ok {
				of[slices.Index(v.Levels(), level)]++
				n++
			}
		}
		numbers, counts = append(numbers, own), append(counts, of)
	}
	if d.tests != nil {
		t, err := d.test(v, numbers, counts)
		if !errors.Is(err, errNotAsked) {
			r := b.row("tests", "test of no difference")
			r.Variable, r.N = v.Name, result.Number(n)
			if err != nil {
				r.Reason = err.Error()
			} else {
				r.Statistic, r.DF, r.P, r.Method = result.Number(t.Statistic), result.Number(t.DF), result.Number(t.P), t.Name+", "+t.Method
				for _, w := range t.Warnings {
					r.Warnings = append(r.Warnings, w.Text)
				}
			}
			b.add(r)
		}
	}
	if d.apart {
		x, err := largestApart(v, numbers, counts)
		r := b.row("differences", "standardised difference")
		r.Variable, r.N = v.Name, result.Number(n)
		if err != nil {
			r.Reason = err.Error()
			b.add(r)
			return
		}
		b.add(number(r, x, "not defined"))
	}
}

var errNotAsked = errors.New("not asked for")

// test is the test that the plan asks for.
func (d *describe) test(v cohort.Variable, numbers [][]float64, counts [][]int) (stats.Test, error) {
	if v.Levels() != nil {
		switch d.tests.Categories {
		case chiSquareTest:
			return stats.ChiSquare(filledRows(counts))
		case fisherTest:
			t, err := stats.Fisher(filledRows(counts))
			if errors.Is(err, stats.ErrTooLarge) {
				s, err := stats.FisherSimulated(filledRows(counts), stats.SimulationOptions{Seed: 1})
				return s.Test, err
			}
			return t, err
		}
		return stats.Test{}, errNotAsked
	}
	two := len(numbers) == 2
	switch {
	case d.tests.Numbers == noTest:
		return stats.Test{}, errNotAsked
	case d.tests.Numbers == welchNumbers && two:
		m, err := stats.WelchTest(numbers[0], numbers[1], 0)
		return m.Test, err
	case d.tests.Numbers == welchNumbers:
		return stats.WelchAnalysisOfVariance(numbers)
	case d.tests.Numbers == studentNumbers && two:
		m, err := stats.StudentTest(numbers[0], numbers[1], 0)
		return m.Test, err
	case d.tests.Numbers == studentNumbers:
		r, err := stats.AnalysisOfVariance(numbers)
		return r.Test, err
	case two:
		r, err := stats.RankSum(numbers[0], numbers[1])
		return r.Test, err
	}
	return stats.KruskalWallis(numbers)
}

// filledRows are the rows and columns of a table that have counts.
func filledRows(counts [][]int) [][]int {
	var rows [][]int
	for _, row := range counts {
		if slices.ContainsFunc(row, func(x int) bool { return x > 0 }) {
			rows = append(rows, nil)
		} else {
			continue
		}
		for j, x := range row {
			if slices.ContainsFunc(counts, func(r []int) bool { return r[j] > 0 }) {
				rows[len(rows)-1] = append(rows[len(rows)-1], x)
			}
		}
	}
	return rows
}

// largestApart is the standardised difference of the two groups, or the largest
// in size of any two of several; of numbers in two groups it has a sign.
func largestApart(v cohort.Variable, numbers [][]float64, counts [][]int) (float64, error) {
	largest := math.NaN()
	var failed error
	groups := len(numbers)
	for i := range groups {
		for j := i + 1; j < groups; j++ {
			var x float64
			var err error
			if v.Levels() == nil {
				x, err = stats.StandardisedMeanDifference(numbers[i], numbers[j])
			} else {
				x, err = stats.StandardisedShares(counts[i], counts[j])
			}
			if err != nil {
				failed = err
				continue
			}
			if groups > 2 {
				x = math.Abs(x)
			}
			if math.IsNaN(largest) || x > largest {
				largest = x
			}
		}
	}
	if math.IsNaN(largest) {
		return largest, failed
	}
	if failed != nil && groups > 2 {
		return math.NaN(), fmt.Errorf("two of the groups have none: %w", failed)
	}
	return largest, nil
}
