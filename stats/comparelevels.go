package stats

import "fmt"

// A TwoByTwoMeasure compares two groups, as OddsRatio, RiskRatio,
// RiskDifference and their like do.
type TwoByTwoMeasure func(a, b, c, d int, opts LimitOptions) (Estimate, error)

// LevelOptions are the choices of CompareLevels.
type LevelOptions struct {
	Level   float64 // confidence level; 0 means 0.95
	Measure string  // the measure's word where it is another, such as "prevalence ratio"; "" keeps it
}

// A LevelEstimate compares one row of a table with the reference row.
type LevelEstimate struct {
	Row      int
	Estimate Estimate
	Err      error // why there is no estimate; nil where there is
}

// CompareLevels compares each row of a table with the reference row, row by row
// with the measure given. A row holds the persons with and without the outcome.
// The rows share the reference: their estimates are not independent, and the
// limits of each are for it alone.
//
// A row that bears no estimate has the measure's error instead, the others keep
// theirs. It returns ErrNoVariance for a table of fewer than two rows, and
// ErrNoData when the reference row is empty. Rows of other than two counts and a
// reference that is not a row are the caller's mistake.
func CompareLevels(table [][]int, reference int, measure TwoByTwoMeasure, opts LevelOptions) ([]LevelEstimate, error) {
	const name = "comparison of levels"
	if len(table) < 2 {
		return nil, fmt.Errorf("%s: %w: found %d rows, expected at least 2", name, ErrNoVariance, len(table))
	}
	if reference < 0 || reference >= len(table) {
		panic(fmt.Sprintf("stats: reference row %d of %d", reference, len(table)))
	}
	rows, columns, _ := margins(table)
	if len(columns) != 2 {
		panic(fmt.Sprintf("stats: %d counts in a row, expected those with and without the outcome", len(columns)))
	}
	if rows[reference] == 0 {
		return nil, fmt.Errorf("%s: reference row %d: %w", name, reference+1, ErrNoData)
	}
	var out []LevelEstimate
	for i, row := range table {
		if i == reference {
			continue
		}
		l := LevelEstimate{Row: i}
		l.Estimate, l.Err = measure(row[0], row[1], table[reference][0], table[reference][1], LimitOptions{opts.Level})
		if l.Err != nil {
			l.Estimate, l.Err = Estimate{}, fmt.Errorf("row %d: %w", i+1, l.Err)
		} else if opts.Measure != "" {
			l.Estimate.Measure = opts.Measure
		}
		out = append(out, l)
	}
	return out, nil
}
