package figure_test

import (
	"errors"
	"fmt"

	"heelcohort/cmd/heelcohort/internal/figure"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// Two rates by sport make a figure; their ratio was not computed, so there is
// no second one.
func ExampleBuild() {
	res := &result.Results{Analyses: []result.Analysis{{
		ID: "table-2", Kind: "incidence", Title: "First episodes",
		Variables: []result.Variable{{
			Name: "sport", Label: "Sport",
			Levels: []result.Level{{Value: "football", Label: "Football"}, {Value: "swimming", Label: "Swimming"}},
		}},
	}}}
	for i, level := range []string{"football", "swimming"} {
		row := result.NewRow("table-2", "rates", "incidence rate")
		row.Groups = []result.Group{{Variable: "sport", Level: level}}
		row.Unit, row.Level = "per 1,000 hours", 0.95
		row.Estimate, row.Lower, row.Upper = result.Number(2-2*i), result.Number(1-i), result.Number(3-i)
		res.Rows = append(res.Rows, row)
	}
	for _, id := range []string{"table-2", "table-2-ratios"} {
		f, err := figure.Build(res, id)
		if errors.Is(err, plots.ErrNoData) {
			fmt.Println(err)
			continue
		}
		fmt.Println(f.Text())
	}
	// Output:
	// Rates: Rate per 1,000 hours (95% CI), by Sport. Football: 2 (1 to 3). Swimming: 0 (0 to 2).
	// figure "table-2-ratios": plots: nothing to draw: none of 0 rows has an estimate
}
