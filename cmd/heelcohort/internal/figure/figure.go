// Package figure builds the figures of a run from its result rows.
package figure

import (
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// Build makes the figure with the given id ("table-2"), one of an Analysis's
// Figures, from the rows of that analysis.
func Build(res *result.Results, id string) (*plots.Figure, error) { return nil, nil }
