package plots

import (
	"fmt"
	"math"

	"heelcohort/stats"
)

// sampleRow is a rate of a hand-made table: events and 1,000 hours.
type sampleRow struct {
	events int
	hours  float64
}

var (
	sampleAges   = []string{"6 to <8", "8 to <10", "10 to <12", "12 to <14", "14 to <17"}
	sampleSports = []string{"Football", "Artistic gymnastics and tumbling", "Athletics", "Basketball", "Höhenturnen", "Swimming"}
	sampleTable  = [][]sampleRow{ // sport, age
		{{3, 6.76}, {23, 15.1}, {49, 19.4}, {23, 12}, {6, 6.3}},
		{{1, 2.7}, {7, 10.5}, {20, 10.6}, {8, 5.5}, {4, 0.9}},
		{{0, 2.5}, {12, 7.8}, {12, 10.2}, {11, 6.8}, {2, 3}},
		{{4, 3.3}, {9, 9.6}, {9, 8}, {9, 4.3}, {2, 3.4}},
		{{0, 0}, {7, 4.9}, {9, 4.1}, {4, 2.9}, {-1, 2.8}}, // no time; withheld
		{{0, 4.3}, {4, 11.1}, {5, 11.8}, {3, 7.5}, {0, 0.02}},
	}
)

// sampleHeatMap has a column of few events, a rate above the scale on few
// events, rates of 0, a cell without person-time and a withheld one.
func sampleHeatMap() HeatMap {
	h := HeatMap{
		Title: "First episodes of heel pain by age and sport", XLabel: "Current age (years)", YLabel: "Sport",
		Unit: "Rate per 1,000 hours", Columns: sampleAges, Rows: sampleSports, FewName: "fewer than 5 events",
		Note: "In each cell: the rate, beneath it the number of events.",
	}
	for _, line := range sampleTable {
		var cells []HeatCell
		for _, r := range line {
			cell := HeatCell{Value: float64(r.events) / r.hours, Few: r.events < 5}
			switch {
			case r.events < 0:
				cell = HeatCell{Value: nan, Absent: "suppressed"}
			case r.hours == 0:
				cell = HeatCell{Value: nan, Absent: "no person-time"}
			default:
				cell.Text = []string{fmt.Sprintf("%.2f", cell.Value), fmt.Sprint(r.events)}
			}
			cells = append(cells, cell)
		}
		h.Cells = append(h.Cells, cells)
	}
	return h
}

// sampleDots is the same table as a dot plot; its limits are hand-made, a
// fifth of the rate and four times it.
func sampleDots() Dots {
	d := Dots{
		Title: "First episodes of heel pain by age and sport", XLabel: "Rate per 1,000 hours (95% CI)",
		GroupLabel: "Current age (years)", Groups: sampleAges, Log: true, Reference: 1.2, ReferenceName: "overall rate", Note: "Not drawn: 1 suppressed.",
	}
	for i, line := range sampleTable {
		p := RateSeries{Name: sampleSports[i]}
		for _, r := range line {
			e := est(float64(r.events)/r.hours, 0, 3.7/r.hours)
			switch {
			case r.events < 0 || r.hours == 0:
				e = est(nan, nan, nan)
			case r.events > 0:
				// A bar of about the width of exact limits.
				k := math.Exp(2 / math.Sqrt(float64(r.events)))
				e.Lower, e.Upper = e.Value/k, e.Value*k
			}
			p.Estimates = append(p.Estimates, e)
		}
		d.Panels = append(d.Panels, p)
	}
	return d
}

// sampleSmooth has two curves of a rate by age in bands, one with a gap.
func sampleSmooth() Curves {
	k := Curves{
		Title: "Rate of first episodes by age", XLabel: "Age (years)", YLabel: "Rate per 1,000 hours (95% CI)",
		Reference: 1.2, ReferenceName: "overall rate",
	}
	for i, name := range []string{"Girls", "Boys"} {
		b := BandCurve{Name: name}
		for age := 6.0; age <= 16; age += 0.25 {
			v := 0.3 + 1.6*math.Exp(-(age-10-1.5*float64(i))*(age-10-1.5*float64(i))/6)
			wide := 1.2 + 0.05*(age-10)*(age-10)
			if i == 1 && age > 14 && age < 15 {
				v = nan
			}
			b.X, b.Estimate = append(b.X, age), append(b.Estimate, v)
			b.Lower, b.Upper = append(b.Lower, v/wide), append(b.Upper, v*wide)
		}
		k.Curves = append(k.Curves, b)
	}
	return k
}

// sampleSteps is a rate by bands of age.
func sampleSteps() Curves {
	return Curves{
		XLabel: "Current age (years)", YLabel: "Rate per 1,000 hours (95% CI)",
		Ticks: []float64{6, 8, 10, 12, 14, 17, 21},
		Curves: []BandCurve{{
			X: []float64{6, 8, 10, 12, 14, 17}, Form: Steps, End: 21,
			Estimate: []float64{0.4, 1.1, 1.6, 1.5, 0.8, 0},
			Lower:    []float64{0.2, 0.8, 1.3, 1.1, 0.5, 0},
			Upper:    []float64{0.7, 1.3, 2, 1.9, 1.3, 28},
		}},
	}
}

// sampleSeason is a rate by week of the season, one week without person-time.
func sampleSeason() Curves {
	b := BandCurve{Form: Points}
	for week := 1.0; week <= 38; week++ {
		v := 1.3 - 0.6*math.Cos(week/6)
		if week == 20 {
			v = nan
		}
		b.X, b.Estimate = append(b.X, week), append(b.Estimate, v)
		b.Lower, b.Upper = append(b.Lower, v*0.5), append(b.Upper, v*1.7)
	}
	return Curves{Title: "Rate by week of the season", XLabel: "Week of the season", YLabel: "Rate per 1,000 hours (95% CI)", Curves: []BandCurve{b}}
}

// sampleCount is a mean cumulative number of episodes in two groups.
func sampleCount() Curves {
	k := Curves{XLabel: "Days since enrolment", YLabel: "Mean number of episodes per child"}
	for i, name := range []string{"Normal arch", "Pronated arch"} {
		b := BandCurve{Name: name, Form: Steps, X: []float64{0}, Estimate: []float64{0}, Lower: []float64{0}, Upper: []float64{0}, End: 365}
		for day := 20.0; day < 360; day += 20 {
			v := day / 365 * (0.3 + 0.15*float64(i))
			b.X, b.Estimate = append(b.X, day), append(b.Estimate, v)
			b.Lower, b.Upper = append(b.Lower, v*0.8), append(b.Upper, v*1.25)
		}
		k.Curves = append(k.Curves, b)
	}
	return k
}

// rateFigures lists the figures of rates that must come out well, by name.
func rateFigures() map[string]drawer {
	single := Size{Width: SingleColumn}
	h, d, dl := sampleHeatMap(), sampleDots(), sampleDots()
	dl.Log = false
	list := map[string]drawer{
		"heatmap": h, "dots": d, "dots-linear": dl,
		"curves-smooth": sampleSmooth(), "curves-steps": sampleSteps(), "curves-season": sampleSeason(), "curves-count": sampleCount(),
	}
	h.Size, d.Size, dl.Size = single, single, single
	list["heatmap-84"], list["dots-84"], list["dots-linear-84"] = h, d, dl
	for name, k := range map[string]Curves{
		"curves-smooth-84": sampleSmooth(), "curves-steps-84": sampleSteps(), "curves-season-84": sampleSeason(), "curves-count-84": sampleCount(),
	} {
		k.Size = single
		list[name] = k
	}
	log := sampleSmooth()
	log.Log = true
	list["curves-log"] = log

	none := sampleHeatMap()
	for _, line := range none.Cells {
		for j := range line {
			line[j] = HeatCell{Value: 0, Text: []string{"0", "0"}, Few: true}
		}
	}
	list["heatmap-zeros"] = none
	list["heatmap-one"] = HeatMap{Columns: []string{"a"}, Rows: []string{"b"}, Cells: [][]HeatCell{{{Value: 2}}}}

	long := sampleHeatMap()
	long.YLabel = "The sport that the child took part in at the time, as its coach wrote it down in the log of the season"
	long.Rows = nil
	for i := range 6 {
		long.Rows = append(long.Rows, fmt.Sprintf("Größe %d – a sport that has a very long name, with the supercalifragilistic/expialidocious league", i))
	}
	long.Columns = []string{"from the sixth birthday on", "from the eighth birthday on", "≥ 10", "Supercalifragilistic", "14"}
	long.Size = single
	list["heatmap-long"] = long
	ld := sampleDots()
	ld.Size, ld.Groups = single, long.Columns
	for i := range ld.Panels {
		ld.Panels[i].Name = long.Rows[i]
	}
	list["dots-long"] = ld

	list["dots-one"] = Dots{XLabel: "Rate", Groups: sampleAges[:2], Panels: []RateSeries{{Estimates: []stats.Estimate{est(2, 1, 4), est(0, 0, 3)}}}}
	list["dots-zeros"] = Dots{XLabel: "Rate", Log: true, Groups: sampleAges[:3], Panels: []RateSeries{{Estimates: []stats.Estimate{est(0, 0, 4), est(0, 0, 3), est(0, nan, nan)}}}}
	list["curves-one-point"] = Curves{Curves: []BandCurve{{X: []float64{3}, Estimate: []float64{2}, Lower: []float64{1}, Upper: []float64{inf}}}}
	return list
}
