package plots

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"

	"heelcohort/stats"
)

var (
	nan = math.NaN()
	inf = math.Inf(1)
)

// est is an estimate with its limits.
func est(value, lower, upper float64) stats.Estimate {
	return stats.Estimate{Value: value, Lower: lower, Upper: upper}
}

// sampleRates has a zero rate, a gap, an unbounded and a far-out limit.
func sampleRates() Rates {
	return Rates{
		Title:  "Incidence of heel pain by age and sport",
		XLabel: "Age (years)", YLabel: "Episodes per 1,000 hours",
		Groups: []string{"6–8", "9–11", "≥ 12"},
		Series: []RateSeries{
			{"Football", []stats.Estimate{est(0.7, 0.4, 1.1), est(1.5, 1.1, 2), est(1.2, 0.8, 1.8)}},
			{"Höhenturnen", []stats.Estimate{est(0, 0, 0.9), est(nan, nan, nan), est(0.6, 0.1, 20)}},
			{"Swimming", []stats.Estimate{est(0.2, 0.1, 0.5), est(0.3, 0.1, inf), est(0, 0, 1.4)}},
		},
	}
}

// sampleForest has headings, a reference, a row without estimate and limits
// beyond the axis.
func sampleForest() Forest {
	return Forest{
		Title: "Arch type and heel pain", XLabel: "Odds ratio (95% limits)",
		LabelHead: "Arch type", CountHead: "Events/n", TextHead: "Odds ratio", Log: true, Null: 1,
		Rows: []ForestRow{
			{Label: "Crude", Heading: true},
			{Label: "Normal", Count: "85/612", NoValue: "reference"},
			{Label: "Pronated", Count: "78/301", Text: "1.87 (1.30 to 2.69)", Estimate: est(1.87, 1.30, 2.69)},
			{Label: "Supinated", Count: "5/98", Text: "0.33 (0.13 to 0.84)", Estimate: est(0.33, 0.13, 0.84)},
			{Label: "Größer ≤ −5", Count: "0/4", NoValue: "not estimable"},
			{Label: "Adjusted for age and sex", Heading: true},
			{Label: "Normal", NoValue: "reference"},
			{Label: "Pronated", Text: "1.62 (1.11 to 90.0)", Estimate: est(1.62, 1.11, 90)},
			{Label: "Supinated", Text: "0.41 (0.00 to 1.05)", Estimate: est(0.41, 0, 1.05)},
		},
	}
}

// sampleSurvival has two curves worked by hand: the first of 6 with events at
// 10, 20 and 40 and censorings at 20 and 50, the second of 4 that begins late
// and has a stretch without limits.
func sampleSurvival() Survival {
	return Survival{
		Title: "Time to return", XLabel: "Days since onset", YLabel: "Not yet returned",
		Ticks: []float64{0, 20, 40}, Note: "Log-rank test: P = 0.40.",
		Curves: []SurvivalCurve{
			{
				Name: "Normal",
				Curve: stats.Curve{
					Time: []float64{10, 20, 40, 50}, Survival: []float64{5. / 6, 2. / 3, 1. / 3, 1. / 3},
					Lower: []float64{0.4, 0.3, 0.05, 0.05}, Upper: []float64{0.98, 0.9, 0.7, 0.7},
					Censored: []int{0, 1, 0, 1}, Events: []int{1, 1, 1, 0}, AtRisk: []int{6, 5, 3, 1},
				},
				AtRisk: []int{6, 5, 3}, Events: []int{0, 2, 3}, Censored: []int{0, 1, 1},
			},
			{
				Name: "Pronated – ≤ 5",
				Curve: stats.Curve{
					Time: []float64{15, 25, 35, 45}, Survival: []float64{0.75, 0.5, 0.25, 0},
					Lower: []float64{0.3, 0.1, nan, nan}, Upper: []float64{0.95, 0.85, nan, nan},
					Censored: []int{0, 0, 0, 0}, Events: []int{1, 1, 1, 1}, AtRisk: []int{4, 3, 2, 1},
				},
				AtRisk: []int{4, 3, -1}, Events: []int{0, 1, 3}, Censored: []int{0, 0, 0},
			},
		},
	}
}

// sampleCounts has two curves worked by hand: the first of 4 children with events
// at 10 (one), 20 (two) and 40 (one of 2 left), the second of 5 with one at 15 and
// one at 30 and without a lower limit at first.
func sampleCounts() MeanCount {
	return MeanCount{
		Title: "Spells of heel pain", XLabel: "Days since enrolment", YLabel: "Mean spells per child",
		Ticks: []float64{0, 20, 40}, Note: "Score test: P = 0.40.",
		Curves: []MeanCountCurve{
			{
				Name: "Female", End: 50,
				Curve: stats.CountCurve{
					Time: []float64{10, 20, 40}, Count: []float64{0.25, 0.75, 1.25},
					Lower: []float64{0.05, 0.4, 0.6}, Upper: []float64{1.2, 1.4, 9},
				},
				AtRisk: []int{4, 4, 2}, Events: []int{0, 3, 4},
			},
			{
				Name: "Male – ≤ 5",
				Curve: stats.CountCurve{
					Time: []float64{15, 30}, Count: []float64{0.2, 0.4}, Lower: []float64{nan, 0.1}, Upper: []float64{nan, 1},
				},
				AtRisk: []int{5, 5, -1}, Events: []int{0, 1, 2},
			},
		},
	}
}

// A drawer is any of the figures.
type drawer interface{ Draw() (*Figure, error) }

// drawers lists figures that must come out well, by name.
func drawers() map[string]drawer {
	single := func(w float64) Size { return Size{Width: w} }
	list := map[string]drawer{
		"rates": sampleRates(), "forest": sampleForest(), "survival": sampleSurvival(),
	}
	r, f, s := sampleRates(), sampleForest(), sampleSurvival()
	r.Size, f.Size, s.Size = single(SingleColumn), single(SingleColumn), single(SingleColumn)
	list["rates-84"], list["forest-84"], list["survival-84"] = r, f, s

	list["distribution-84"] = sampleDistribution()

	one := sampleRates()
	one.Series = one.Series[:1]
	one.Series[0].Name = ""
	list["rates-one-series"] = one
	point := Rates{Groups: []string{"all"}, Series: []RateSeries{{Estimates: []stats.Estimate{est(0, 0, 3)}}}}
	list["rates-one-point"] = point
	list["rates-no-limits"] = Rates{Groups: []string{"a"}, Series: []RateSeries{{Estimates: []stats.Estimate{est(2, nan, nan)}}}}

	long := Rates{Title: "Thirty long labels – and a title that goes on until it has to wrap, because nothing may be cut off at the edge of the figure, however much there is to say", YLabel: "Rate ≤ 1 per 1,000 athlete-exposures of training and match play together"}
	lf := Forest{Log: true, Null: 1, XLabel: "Rate ratio"}
	var es []stats.Estimate
	for i := range 30 {
		label := fmt.Sprintf("Größe %d – heel raise with eccentric exercise", i)
		long.Groups = append(long.Groups, label)
		x := float64(i%7) + 0.1
		es = append(es, est(x, x/2, 2*x))
		lf.Rows = append(lf.Rows, ForestRow{Label: label, Count: "123/4,567", Text: "1.23 (0.98 to 1.56)", Estimate: es[i]})
	}
	long.Series = []RateSeries{
		{"a", es},
		{"A very long name of a series, which goes on about the level of sport that children played in the season before they were enrolled in this study", es},
	}
	list["rates-long"], list["forest-long"] = long, lf
	lf.Size = single(SingleColumn)
	list["forest-long-84"] = lf

	list["forest-huge"] = Forest{Log: true, Null: 1, XLabel: "Ratio", Rows: []ForestRow{
		{Label: "huge", Text: "1e9", Estimate: est(1e9, 1e5, inf)},
		{Label: "zero", Text: "0", Estimate: est(0, 0, 2.5)},
		{Label: "endless", Text: "∞", Estimate: est(inf, 0.4, inf)},
		{Label: "bare", Text: "2", Estimate: est(2, nan, nan)},
	}}
	list["forest-difference"] = Forest{XLabel: "Risk difference", Rows: []ForestRow{
		{Label: "A", Text: "0.10", Estimate: est(0.1, -0.05, 0.25)},
		{Label: "B", Text: "−0.10", Estimate: est(-0.1, -0.9, 0.25)},
	}}
	list["forest-null-only"] = Forest{Log: true, Null: 1, Rows: []ForestRow{{Label: "A", Estimate: est(1, 1, 1)}}}

	bare := sampleSurvival()
	bare.Curves = bare.Curves[:1]
	bare.Curves[0].Name = ""
	list["survival-one"] = bare
	untabled := sampleSurvival()
	for i := range untabled.Curves {
		c := &untabled.Curves[i]
		c.AtRisk, c.Events, c.Censored, c.Curve.Lower, c.Curve.Upper, c.Curve.Censored = nil, nil, nil, nil, nil, nil
	}
	list["survival-no-table"] = untabled
	list["survival-many"] = manyCurves()
	counted, narrow := sampleCounts(), sampleCounts()
	narrow.Size = single(SingleColumn)
	list["counts"], list["counts-84"] = counted, narrow
	lone := sampleCounts()
	lone.Curves = lone.Curves[:1]
	lone.Curves[0].Name, lone.Curves[0].AtRisk, lone.Curves[0].Events = "", nil, nil
	list["counts-one"] = lone
	states, thin := sampleOccupancy(), sampleOccupancy()
	thin.Size = single(SingleColumn)
	list["occupancy"], list["occupancy-84"] = states, thin
	alone := sampleOccupancy()
	alone.Panels = alone.Panels[:1]
	alone.Panels[0].Name, alone.Panels[0].Observed = "", nil
	list["occupancy-one"], list["occupancy-many"] = alone, manyStates()
	tall := sampleRates()
	tall.Size = Size{Width: 120, Height: 140}
	list["rates-sized"] = tall
	maps.Copy(list, rateFigures())
	points, cells := sampleAgreement(), sampleAgreementCells()
	list["agreement"], list["agreement-cells"] = points, cells
	points.Size, cells.Size = single(SingleColumn), single(SingleColumn)
	list["agreement-84"], list["agreement-cells-84"] = points, cells
	list["visits"], list["visits-84"], list["visits-change"] = sampleVisits(), crowdedVisits(), changeVisits()
	return list
}

// manyCurves has five curves of random data.
func manyCurves() Survival {
	rng := rand.New(rand.NewPCG(1, 2))
	s := Survival{Title: "Five groups", XLabel: "Days", YLabel: "Not yet returned", Ticks: []float64{0, 25, 50, 75, 100}}
	for g := range 5 {
		c := SurvivalCurve{Name: fmt.Sprintf("Group %d with a name of some length", g+1)}
		v := 1.0
		for t := range 40 {
			v *= 1 - 0.1*rng.Float64()
			k := &c.Curve
			k.Time = append(k.Time, float64(1+2*t))
			k.Survival = append(k.Survival, v)
			k.Lower, k.Upper = append(k.Lower, v*0.8), append(k.Upper, min(1, v*1.15))
			k.Censored = append(k.Censored, t%3)
		}
		for i := range s.Ticks {
			c.AtRisk = append(c.AtRisk, 12345-i)
			c.Events, c.Censored = append(c.Events, i), append(c.Censored, 2*i)
		}
		s.Curves = append(s.Curves, c)
	}
	return s
}

// sampleDistribution has a group without anybody and a level without a count.
func sampleDistribution() Distribution {
	return Distribution{
		Title: "Foot posture by sport", XLabel: "Foot posture, % of the group", GroupLabel: "Sport",
		Groups: []string{"Football", "Artistic gymnastics and tumbling", "Swimming"}, Levels: []string{"supinated", "normal", "pronated", "very pronated"},
		Counts: [][]int{{4, 61, 30, 2}, {1, 20, 33, 0}, {0, 0, 0, 0}}, Size: Size{Width: SingleColumn},
	}
}
