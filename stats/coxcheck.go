package stats

import (
	"fmt"
	"slices"
)

func checkCoxShape(t Times, x [][]float64, terms []string, opts CoxOptions) {
	n := len(t.Exit)
	if len(x) != n {
		panic(fmt.Sprintf("stats: %d times, %d rows of covariates", n, len(x)))
	}
	for _, o := range []struct {
		name  string
		given bool
		len   int
	}{
		{"clusters", opts.Cluster != nil, len(opts.Cluster)},
		{"strata", opts.Strata != nil, len(opts.Strata)},
		{"weights", opts.Weights != nil, len(opts.Weights)},
		{"offsets", opts.Offset != nil, len(opts.Offset)},
	} {
		if o.given && o.len != n {
			panic(fmt.Sprintf("stats: %d times, %d %s", n, o.len, o.name))
		}
	}
	if opts.Ties == TiesExact && (opts.Weights != nil || opts.Cluster != nil) {
		panic("stats: weights or clusters with exact ties, which have neither")
	}
	if len(terms) == 0 {
		panic("stats: a Cox model without covariates")
	}
	for i, row := range x {
		if len(row) != len(terms) {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), len(terms)))
		}
	}
}

func checkCovariates(x [][]float64, terms []string) error {
	if !slices.ContainsFunc(x, func(row []float64) bool { return slices.ContainsFunc(row, notFinite) }) {
		return nil
	}
	for j, term := range terms {
		var wrong []int
		for i, row := range x {
			if !finite(row[j]) {
				wrong = append(wrong, i)
			}
		}
		if wrong != nil {
			return fmt.Errorf("term %q: %w: %d of %d rows (%s)", term, ErrNotFinite, len(wrong), len(x), firstRows(wrong))
		}
	}
	return nil
}

// checkCoxRows refuses weights and offsets that are no numbers to work with.
func checkCoxRows(opts CoxOptions) error {
	for _, o := range []struct {
		name   string
		values []float64
	}{{"weights", opts.Weights}, {"offsets", opts.Offset}} {
		var wrong, low []int
		for i, v := range o.values {
			switch {
			case !finite(v):
				wrong = append(wrong, i)
			case v <= 0 && o.name == "weights":
				low = append(low, i)
			}
		}
		if wrong != nil {
			return fmt.Errorf("%s: %w: %d of %d rows (%s)", o.name, ErrNotFinite, len(wrong), len(o.values), firstRows(wrong))
		}
		if low != nil {
			return fmt.Errorf("%s: %w: %d of %d rows (%s)", o.name, ErrNotPositive, len(low), len(o.values), firstRows(low))
		}
	}
	return nil
}
