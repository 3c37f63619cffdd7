package figure

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// A curveOf says which rows of an analysis make curves, and how they are
// drawn. A row stands at its At; rows with the same groups make one curve,
// named by the labels of their levels, and a row without an estimate is a gap.
type curveOf struct {
	part, measure  string // of the rows
	form           plots.CurveForm
	title          string // after the analysis's own: ": smooth rate by age"
	xLabel, yLabel string // yLabel is followed by the rows' unit and level
	byTerm         bool   // rows with the same term and groups make one curve
	term           string // of byTerm: the only one drawn, over all only where there are no groups
	along          bool   // along the rows' variable, which labels the x axis; each has a figure of its own
	variable       string // of along: the one that is drawn
	log            bool   // the y axis; rows of 0 are gaps then
	reference      float64
	referenceName  string
	note           string
	bare           bool   // of byTerm: no start at 0
	byGroup        bool   // rows of each level of the grouping variable have a figure of their own, by the level in variable
	steps          string // the term whose curve is drawn in steps, whatever the form
}

// A curveFigure is a figure of curves that analyses of a kind have where they
// have its rows; its id is that of the analysis and the suffix.
type curveFigure struct {
	kind, suffix string
	curveOf
}

// curveFigures lists the figures of curves. A kind of analysis that writes rows
// with places gets its figure by a line here: IDs and Build go by the list.
var curveFigures = []curveFigure{
	{kind: "incidence", suffix: "-smooth", curveOf: curveOf{
		part: "smooth", measure: "marginal rate", form: plots.Smooth, title: ": rate by the model", yLabel: "Marginal rate", along: true,
	}},
	{kind: "time-to-event", suffix: "-incidence", curveOf: curveOf{
		part: "incidence", measure: "cumulative incidence", form: plots.Steps, title: ": cumulative incidence", xLabel: "Time", yLabel: "Cumulative incidence", byTerm: true,
	}},
	{kind: "time-to-event", suffix: "-hazard", curveOf: curveOf{
		part: "hazard", measure: "cumulative hazard", form: plots.Steps, title: ": cumulative hazard", xLabel: "Time", yLabel: "Cumulative hazard", byTerm: true,
		note: "The slope is the hazard: a straight line is a constant one.",
	}},
	{kind: "time-to-event", suffix: "-residuals", curveOf: curveOf{
		part: "over time", measure: "hazard ratio", form: plots.Smooth, title: ": hazard ratios in time", xLabel: "Time", yLabel: "Hazard ratio", byTerm: true, bare: true,
		log: true, reference: 1, referenceName: "no difference", note: "Smoothed scaled Schoenfeld residuals; a level curve is a constant ratio.",
	}},
	{kind: "time-to-event", suffix: "-smooth", curveOf: curveOf{
		part: "smooth", measure: "hazard ratio", form: plots.Smooth, title: ": hazard ratio by the model", yLabel: "Hazard ratio", along: true,
		log: true, reference: 1, referenceName: "no difference",
	}},
	{kind: "time-to-event", suffix: "-fitted", curveOf: curveOf{
		part: "fitted", measure: "survival", form: plots.Smooth, title: ": parametric models", xLabel: "Time", yLabel: "Without the event", byTerm: true, bare: true,
		byGroup: true, steps: result.Observed, note: "In steps: the curve without a model.",
	}},
	{kind: "time-to-event", suffix: "-interval", curveOf: curveOf{
		part: "interval", measure: "survival", form: plots.Steps, title: ": seen between visits", xLabel: "Time", yLabel: "Without the event", byTerm: true,
		note: "Shaded: regions in which the interval-censored curve may run anywhere.",
	}},
	{kind: "change", suffix: "-interval", curveOf: curveOf{
		part: "interval", measure: "survival", form: plots.Steps, title: ": time to the threshold", xLabel: "Time since the baseline", yLabel: "Not yet reached", byTerm: true,
		term: "interval-censored", note: "Shaded: regions in which the interval-censored curve may run anywhere.",
	}},
}

// of lists the figures that the analysis has, by the end of their ids: one, or
// where curves run along several variables one for each of them.
func (c curveFigure) of(a result.Analysis, rows []result.Row) []curveFigure {
	var variables []string
	for _, r := range rows {
		if c.kind == a.Kind && r.Analysis == a.ID && r.Part == c.part && r.Measure == c.measure && r.At.Present() {
			v := ""
			switch {
			case c.along:
				v = r.Variable
			case c.byGroup && len(r.Groups) == 1:
				v = r.Groups[0].Level
			}
			if !slices.Contains(variables, v) {
				variables = append(variables, v)
			}
		}
	}
	var list []curveFigure
	for _, v := range variables {
		one := c
		one.variable = v
		if len(variables) > 1 || c.byGroup && v != "" {
			one.suffix += "-" + v
		}
		list = append(list, one)
	}
	return list
}

// curves is the figure of curves that c says.
func (s *source) curves(c curveOf) (plots.Curves, error) {
	f := plots.Curves{
		Title: s.Title + c.title, XLabel: c.xLabel, Log: c.log, Reference: c.reference, ReferenceName: c.referenceName,
	}
	rows := slices.DeleteFunc(s.part(c.part, c.measure), func(r result.Row) bool {
		return !r.At.Present() || math.IsInf(float64(r.At), 0) || c.along && r.Variable != c.variable || c.term != "" && r.Term != c.term ||
			c.byGroup && len(r.Groups) == 1 && r.Groups[0].Level != c.variable
	})
	if grouped := func(r result.Row) bool { return len(r.Groups) > 0 }; c.term != "" && slices.ContainsFunc(rows, grouped) {
		rows = slices.DeleteFunc(rows, func(r result.Row) bool { return !grouped(r) })
	}
	if c.along {
		f.XLabel = s.label(c.variable)
	}
	if unit := s.Setting("unit of time"); c.byTerm && unit != "" {
		f.XLabel += " (" + unit + ")"
	}
	if len(rows) == 0 {
		return f, fmt.Errorf("%w: no %s of part %s stands at a place", plots.ErrNoData, c.measure, c.part)
	}
	f.YLabel = sentenceOf(c.yLabel, rows[0].Unit) + confidence(rows)
	gaps := map[string]int{}
	for len(rows) > 0 {
		groups, term := rows[0].Groups, rows[0].Term
		same := func(r result.Row) bool {
			return slices.Equal(r.Groups, groups) && (!c.byTerm || r.Term == term)
		}
		one := slices.DeleteFunc(slices.Clone(rows), func(r result.Row) bool { return !same(r) })
		rows = slices.DeleteFunc(rows, same)
		sort.SliceStable(one, func(i, j int) bool { return one[i].At < one[j].At })
		k := plots.BandCurve{Name: s.groupsLabel(groups), Form: c.form}
		if c.byGroup && len(groups) == 1 {
			f.Title, k.Name = s.Title+c.title+", "+s.groupsLabel(groups), ""
		}
		if c.steps == term && term != "" {
			k.Form = plots.Steps
		}
		if c.byTerm {
			if c.term == "" {
				k.Name = strings.Trim(k.Name+", "+term, ", ")
			}
			if one[0].At > 0 && !c.bare { // nothing has ended at the start
				k.X, k.Estimate, k.Lower, k.Upper = []float64{0}, []float64{0}, []float64{math.NaN()}, []float64{math.NaN()}
			}
		}
		for _, r := range one {
			e := estimate(r)
			switch {
			case math.IsNaN(e.Value):
				gaps[absent(r)]++
			case c.log && e.Value == 0:
				gaps["0"]++
				e.Value = math.NaN()
			}
			k.X, k.Estimate = append(k.X, float64(r.At)), append(k.Estimate, e.Value)
			k.Lower, k.Upper = append(k.Lower, e.Lower), append(k.Upper, e.Upper)
		}
		f.Curves = append(f.Curves, k)
	}
	f.Note = sentenceOf(gapNote(gaps), c.note)
	if knots := s.Setting("knots of " + c.variable); c.along && knots != "" {
		f.Note = sentenceOf(f.Note, "Natural cubic spline, knots at "+knots+".")
	}
	if n := gaps["0"]; n > 0 {
		f.Note = sentenceOf(f.Note, fmt.Sprintf("On a log axis %d of 0 cannot be drawn.", n))
	}
	return f, nil
}

// groupsLabel names a curve: "Football" or "Football, girls".
func (s *source) groupsLabel(groups []result.Group) string {
	var labels []string
	for _, g := range groups {
		labels = append(labels, s.LevelLabel(g.Variable, g.Level))
	}
	return strings.Join(labels, ", ")
}

// sentenceOf joins texts that are not empty by a space.
func sentenceOf(texts ...string) string {
	return strings.Join(slices.DeleteFunc(texts, func(t string) bool { return t == "" }), " ")
}

// bandCurve is the curve of rates over the bands of a variable, in steps, over
// all levels of another.
func (s *source) bandCurve() (plots.Curves, error) {
	f := plots.Curves{Title: s.Title}
	rows := slices.DeleteFunc(s.part("rates", "incidence rate"), func(r result.Row) bool { return len(r.Groups) != 1 })
	for _, v := range s.Variables {
		var levels []string
		for _, l := range v.Levels {
			levels = append(levels, l.Value)
		}
		bounds, ok := BandBounds(levels)
		if !ok {
			continue
		}
		byLevel := map[string]result.Row{}
		var drawn []result.Row
		for _, r := range rows {
			if r.Groups[0].Variable == v.Name {
				byLevel[r.Groups[0].Level] = r
				drawn = append(drawn, r)
			}
		}
		if len(drawn) == 0 {
			continue
		}
		k := plots.BandCurve{Form: plots.Steps, End: bounds[len(bounds)-1]}
		gaps := map[string]int{}
		for i, level := range levels {
			r, ok := byLevel[level]
			if !ok {
				r = result.NewRow(s.ID, "rates", "incidence rate")
			}
			e := estimate(r)
			if math.IsNaN(e.Value) {
				gaps[absent(r)]++
			}
			k.X, k.Estimate = append(k.X, bounds[i]), append(k.Estimate, e.Value)
			k.Lower, k.Upper = append(k.Lower, e.Lower), append(k.Upper, e.Upper)
		}
		f.XLabel, f.YLabel = s.label(v.Name), rateLabel(drawn)+confidence(drawn)
		f.Curves, f.Ticks, f.Note = []plots.BandCurve{k}, bounds, gapNote(gaps)
		return f, nil
	}
	return f, fmt.Errorf("%w: no variable has bands one after the other, such as 6 to <8, 8 to <10", plots.ErrNoData)
}

var closedBand = regexp.MustCompile(`^(-?\d+(?:\.\d+)?) to <(-?\d+(?:\.\d+)?)$`)

// BandBounds are the bounds of levels that are bands one after the other, as
// "6 to <8", "8 to <10": one more than there are levels. It is false for any
// others.
func BandBounds(levels []string) (bounds []float64, ok bool) {
	for i, l := range levels {
		m := closedBand.FindStringSubmatch(l)
		if m == nil {
			return nil, false
		}
		from, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			return nil, false
		}
		to, err := strconv.ParseFloat(m[2], 64)
		if err != nil || !(from < to) {
			return nil, false
		}
		if i == 0 {
			bounds = []float64{from}
		} else if bounds[i] != from {
			return nil, false
		}
		bounds = append(bounds, to)
	}
	return bounds, len(bounds) > 0
}
