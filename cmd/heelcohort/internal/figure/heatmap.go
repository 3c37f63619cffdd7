package figure

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// heatMap is the heat map of an incidence analysis by two variables: the one
// with bands of numbers along the x axis. A cell's numbers are printed as the
// table prints them.
func (s *source) heatMap() (plots.HeatMap, error) {
	f := plots.HeatMap{Title: s.Title}
	t, err := s.rateTable()
	if err != nil {
		return f, err
	}
	if t.series == "" {
		return f, fmt.Errorf("%w: a heat map shows rates by two variables, and they are by one", plots.ErrNoData)
	}
	few, err := s.few()
	if err != nil {
		return f, err
	}
	f.XLabel, f.YLabel, f.Unit = s.label(t.x), s.label(t.series), rateLabel(t.drawn)
	f.Columns, f.Rows = s.labels(t.x, t.groups), s.labels(t.series, t.names)
	f.FewName = "fewer than " + printed.Plural(int(few), "event")
	if few != math.Trunc(few) {
		f.FewName = "fewer than " + plain(few) + " events"
	}
	var shown []float64
	for _, r := range s.part("rates", "incidence rate") {
		shown = append(shown, float64(r.Estimate))
	}
	decimals := printed.RateDecimals(shown)
	for _, n := range t.names {
		var line []plots.HeatCell
		for _, g := range t.groups {
			line = append(line, heatCell(t.at[[2]string{g, n}], decimals, few))
		}
		f.Cells = append(f.Cells, line)
	}
	f.Note = "In each cell: the rate, beneath it the number of events."
	return f, nil
}

// heatCell is the cell of a row; of the zero row where there is none.
func heatCell(r result.Row, decimals int, few float64) plots.HeatCell {
	if r.Measure == "" || !r.Estimate.Present() {
		return plots.HeatCell{Value: math.NaN(), Absent: cellAbsent(r)}
	}
	cell := plots.HeatCell{Value: float64(r.Estimate), Text: []string{printed.Rate(float64(r.Estimate), decimals)}}
	if r.Events.Present() {
		cell.Text = append(cell.Text, printed.Fixed(float64(r.Events), 0))
		cell.Few = float64(r.Events) < few
	}
	return cell
}

// cellAbsent says why a cell has no rate: nobody was at risk in it, or the
// rate is withheld or not estimable.
func cellAbsent(r result.Row) string {
	if r.Measure != "" && r.PersonTime == 0 && r.Events == 0 {
		return "no person-time"
	}
	return absent(r)
}
