package figure

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// Settings of an analysis of agreement that its figure depends on.
const (
	PointsSetting   = "figure.points"    // true: a point for each pair
	FewPairsSetting = "figure.few pairs" // cells of fewer pairs are left out
)

// agreed reports whether an analysis of agreement has a figure: that of two
// raters' numbers.
func agreed(a result.Analysis, rows []result.Row) bool {
	return slices.ContainsFunc(rows, func(r result.Row) bool {
		return r.Analysis == a.ID && (r.Part == "points" || r.Part == "cells")
	})
}

// agreement is the figure of differences against means.
func (s *source) agreement() (plots.Agreement, error) {
	f := plots.Agreement{Title: s.Title, XLabel: "Mean of both ratings", YLabel: "Difference (first less second)"}
	var drawn []result.Row
	for _, one := range []struct {
		measure string
		into    func(r result.Row)
	}{
		{"mean difference", func(r result.Row) { f.Bias = estimate(r) }},
		{"lower limit of agreement", func(r result.Row) { f.Lower = estimate(r) }},
		{"upper limit of agreement", func(r result.Row) { f.Upper = estimate(r) }},
	} {
		rows := s.part("differences", one.measure)
		if len(rows) != 1 || !rows[0].Estimate.Present() {
			return f, fmt.Errorf("%w: no %s", plots.ErrNoData, one.measure)
		}
		one.into(rows[0])
		drawn = append(drawn, rows[0])
	}
	if first, second, ok := result.Raters(drawn[0].Term); ok {
		f.YLabel = "Difference (" + s.Described(first).Label + " less " + s.Described(second).Label + ")"
	}
	if unit := drawn[0].Unit; unit != "" {
		f.XLabel += " (" + unit + ")"
		f.YLabel += ", " + unit
	}
	for _, r := range drawn {
		if r.Level.Present() && r.Lower.Present() {
			f.BandName = printed.Level(float64(r.Level)) + " of each"
		}
	}
	for _, r := range s.part("points", "difference") {
		if r.At.Present() && r.Estimate.Present() {
			f.Points = append(f.Points, plots.AgreementPoint{Mean: float64(r.At), Difference: float64(r.Estimate)})
		}
	}
	withheld := 0
	for _, r := range s.part("cells", "pairs") {
		k, err := agreementCell(r)
		if err != nil {
			return f, err
		}
		if !r.Estimate.Present() {
			withheld++
			continue
		}
		k.Count = int(r.Estimate)
		f.Cells = append(f.Cells, k)
	}
	for _, r := range s.part("cells", "pairs in cells of few") {
		switch n := float64(r.Estimate); {
		case n == 0 || math.IsNaN(n):
		case float64(r.N) == n:
			return f, fmt.Errorf("%w: every cell holds fewer than %s pairs", plots.ErrNoData, s.Setting(FewPairsSetting))
		default:
			f.Note = fmt.Sprintf("%s of %s pairs are in cells of fewer than %s and not drawn.",
				printed.Fixed(n, 0), printed.Fixed(float64(r.N), 0), s.Setting(FewPairsSetting))
		}
	}
	if withheld > 0 {
		f.Note = strings.TrimSpace(f.Note + fmt.Sprintf(" %d cells are suppressed.", withheld))
	}
	return f, nil
}

// agreementCell reads the edges of a cell from its groups.
func agreementCell(r result.Row) (k plots.AgreementCell, err error) {
	for _, g := range r.Groups {
		from, to, cut := strings.Cut(strings.TrimSuffix(strings.TrimPrefix(g.Level, "["), ")"), ", ")
		low, bad := strconv.ParseFloat(from, 64)
		high, worse := strconv.ParseFloat(to, 64)
		if !cut || bad != nil || worse != nil {
			return k, fmt.Errorf("row %s: %q is no interval", r.ID, g.Level)
		}
		switch g.Variable {
		case "mean":
			k.Left, k.Right = low, high
		case "difference":
			k.Bottom, k.Top = low, high
		}
	}
	return k, nil
}
