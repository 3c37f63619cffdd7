package run

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/stats"
)

// A shape is how a number enters a model other than as it is: as a natural
// cubic spline or as seasonal terms.
type shape struct {
	knots  int       // at quantiles of the rows of the model; 0: at
	at     []float64 // the knots
	season *stats.Harmonics

	reference float64 // of ratios of a spline
	written   bool

	spline      stats.NaturalSpline // once the rows are known
	least, most float64             // value among the rows, of a season within the cycle
}

// bindShapes gives the model's terms their shapes.
func (s *incidence) bindShapes(m *cohort.Model, p *plan.RateModel) error {
	for _, e := range p.Spline {
		if i := slices.IndexFunc(s.model.terms, func(t term) bool { return t.variable.Name == e.Key }); i >= 0 && s.age != nil && e.Key == s.ageName() {
			if err := s.bindFineAge(m, p, &s.model.terms[i]); err != nil {
				return err
			}
		}
		t, err := s.shaped(m, e.Key, e.Position, "spline")
		if err != nil {
			return err
		}
		if t.shape, err = splineShape(m, e.Key, e.Value); err != nil {
			return err
		}
	}
	for _, e := range p.Season {
		t, err := s.shaped(m, e.Key, e.Position, "season")
		if err != nil {
			return err
		}
		if !t.cycle && (e.Value.AtZero != nil || e.Value.Cut != nil || e.Value.Label != "") {
			return m.Plan.Fault(e.Value.Position, "", fmt.Sprintf("season of %q: at_zero, cut and label go with events that have days, and cut and label with at_zero", e.Key))
		}
		h := stats.Harmonics{Period: stats.DaysPerYear, Pairs: 1}
		if e.Value.Period != nil {
			h.Period, t.periodWritten = *e.Value.Period, true
		}
		if e.Value.Pairs != nil {
			h.Pairs, t.pairsWritten = *e.Value.Pairs, true
		}
		t.shape = &shape{season: &h}
	}
	if p.CutAge != nil && s.model.fine == nil {
		return m.Plan.Fault(p.Position, "", "cut_age without a spline of current age")
	}
	return nil
}

// bindSplines gives numbers among the terms of a model their splines.
func bindSplines(m *cohort.Model, terms []*term, splines document.Ordered[plan.Spline]) error {
	var names []string
	for _, t := range terms {
		names = append(names, t.variable.Name)
	}
	for _, e := range splines {
		i := slices.Index(names, e.Key)
		switch {
		case i < 0:
			return m.Plan.Fault(e.Position, document.Nearest(e.Key, names), fmt.Sprintf("spline of %q, expected a term of the model: %s", e.Key, strings.Join(names, ", ")))
		case terms[i].variable.Levels() != nil:
			return m.Plan.Fault(e.Position, "", fmt.Sprintf("spline of %q, which has levels, expected a number", e.Key))
		}
		h, err := splineShape(m, e.Key, e.Value)
		if err != nil {
			return err
		}
		terms[i].shape = h
	}
	return nil
}

// splineShape is the spline of a plan.
func splineShape(m *cohort.Model, name string, p plan.Spline) (*shape, error) {
	h := &shape{at: p.At}
	switch {
	case (p.Knots == nil) == (p.At == nil):
		return nil, m.Plan.Fault(p.Position, "", fmt.Sprintf("spline of %q, expected either knots or at", name))
	case p.Knots != nil:
		h.knots = *p.Knots
	default:
		if _, err := stats.NewNaturalSpline(p.At); err != nil {
			return nil, m.Plan.Fault(p.Position, "", fmt.Sprintf("spline of %q: %v", name, err))
		}
	}
	if p.Reference != nil {
		h.reference, h.written = *p.Reference, true
	}
	return h, nil
}

// shaped is the term that a spline or a season is of.
func (s *incidence) shaped(m *cohort.Model, name string, at document.Position, what string) (*term, error) {
	names := termNames(s.model.terms)
	i := slices.Index(names, name)
	if i < 0 {
		return nil, m.Plan.Fault(at, document.Nearest(name, names), fmt.Sprintf("%s of %q, expected a term of the model: %s", what, name, strings.Join(names, ", ")))
	}
	t := &s.model.terms[i]
	switch {
	case t.variable.Levels() != nil && s.count == nil:
		return nil, m.Plan.Fault(at, "", fmt.Sprintf("%s of %q, which has levels: where events have days the rows of the model are cells of by, and only current age can have a spline", what, name))
	case t.fine && what == "season":
		return nil, m.Plan.Fault(at, "", fmt.Sprintf("season of %q, which has a spline", name))
	case t.variable.Levels() != nil:
		return nil, m.Plan.Fault(at, "", fmt.Sprintf("%s of %q, which has levels, expected a number", what, name))
	case t.shape != nil:
		return nil, m.Plan.Fault(at, "", fmt.Sprintf("%q has a spline already, expected one shape", name))
	}
	return t, nil
}

// place puts the knots at quantiles of the values where the plan gives their
// number, and chooses the reference.
func (h *shape) place(values []float64) error {
	if h.season != nil {
		h.least, h.most = math.Inf(1), math.Inf(-1)
		for _, v := range values {
			in := math.Mod(v, h.season.Period)
			if in < 0 {
				in += h.season.Period
			}
			if v > 0 && in == 0 {
				h.most = h.season.Period // the end of a cycle as written, and the start of the next
			}
			h.least, h.most = min(h.least, in), max(h.most, in)
		}
		return nil
	}
	knots := h.at
	if h.knots > 0 {
		var err error
		if knots, err = stats.QuantileKnots(values, h.knots); err != nil {
			return err
		}
	}
	var err error
	if h.spline, err = stats.NewNaturalSpline(knots); err != nil {
		return err
	}
	if !h.written {
		h.reference = knots[(len(knots)-1)/2]
	}
	h.least, h.most = slices.Min(values), slices.Max(values)
	return nil
}

// names are the names of the shape's columns.
func (h *shape) names() []string {
	if h.season != nil {
		return h.season.Names()
	}
	names := []string{"linear"}
	for j := 1; j < h.spline.Columns(); j++ {
		names = append(names, fmt.Sprintf("curve %d", j))
	}
	return names
}

// row is the shape's row at a value.
func (h *shape) row(x float64) []float64 {
	if h.season != nil {
		return h.season.At(x)
	}
	return h.spline.At(x)
}

// shapes adds what the coefficients of splines and seasons say: rate ratios of
// the knots against the reference, the peak and its ratio to the trough, and
// tests of all columns and of those that are not straight.
func (m *rateModel) shapes(b *builder, d *design, f stats.Fit, fitErr error) {
	shapeRows(b, "shapes", m.terms, "rate ratio", d, f, fitErr)
}

// shapeRows is shapes for the terms of any model, whose ratios and part are named.
func shapeRows(b *builder, part string, terms []term, ratio string, d *design, f stats.Fit, fitErr error) {
	for i := range terms {
		t := &terms[i]
		if t.shape == nil {
			continue
		}
		row := func(measure, term string) result.Row {
			r := b.row(part, measure)
			r.Variable, r.Term = t.variable.Name, term
			return r
		}
		if fitErr != nil {
			r := row("test of the term", "")
			r.Reason = fitErr.Error()
			b.add(r)
			continue
		}
		columns := d.coefficients(f, t.variable.Name)
		if t.shape.season == nil {
			t.shape.ratios(b, row, ratio, f, columns)
		} else {
			t.shape.peak(b, row, f, columns)
		}
		b.shapeTest(row("test of the term", ""), f.JointTest("", columns), f.N)
		if t.shape.season == nil {
			b.shapeTest(row("test of curvature", ""), f.JointTest("", columns[1:]), f.N)
		}
	}
}

func (b *builder) shapeTest(r result.Row, t stats.Test, n int) {
	r.N, r.Statistic, r.DF, r.P, r.Method = result.Number(n), result.Number(t.Statistic), result.Number(t.DF), result.Number(t.P), t.Method
	if math.IsNaN(t.Statistic) && len(t.Warnings) > 0 {
		r.Reason = t.Warnings[0].Text
	}
	b.add(r)
}

// ratios adds the ratio of each knot against the reference.
func (h *shape) ratios(b *builder, row func(measure, term string) result.Row, ratio string, f stats.Fit, columns []int) {
	zero := h.spline.At(h.reference)
	for _, k := range h.spline.Knots {
		if k == h.reference {
			continue
		}
		combination := make([]float64, len(f.Coefficients))
		for j, v := range h.spline.At(k) {
			combination[columns[j]] = v - zero[j]
		}
		term := shortNumber(k) + " vs " + shortNumber(h.reference)
		b.add(b.estimate(row(ratio, term), f.Ratio(term, combination, b.level), nil))
	}
}

// peak adds the time of the peak and its ratio to the trough, for one pair.
func (h *shape) peak(b *builder, row func(measure, term string) result.Row, f stats.Fit, columns []int) {
	if h.season.Pairs != 1 {
		return
	}
	peak, _ := h.season.SeasonPeak(f.Coefficients[columns[0]], f.Coefficients[columns[1]])
	b.add(number(row("time of the peak", ""), peak, "no season at all"))
	if math.IsNaN(peak) {
		return
	}
	// Of peak against trough at the estimated time of the peak.
	sin, cos := h.season.At(peak)[0], h.season.At(peak)[1]
	combination := make([]float64, len(f.Coefficients))
	combination[columns[0]], combination[columns[1]] = 2*sin, 2*cos
	r := b.estimate(row("peak to trough rate ratio", ""), f.Ratio("", combination, b.level), nil)
	r.P = result.None()
	r.Method += ", delta method for an estimated peak"
	b.add(r)
}

// shapeSettings notes the choices of the shapes, once the knots are placed.
func (m *rateModel) shapeSettings(b *builder, cutWritten bool) {
	if m.cycle != nil {
		b.set("day of the season on study day 0", m.cycle.written, true)
		b.set("pieces of the season in the model", shortNumber(m.cycle.width)+" days, each with the day of its middle", m.cycle.cutWritten)
	}
	if m.fine != nil {
		b.set("pieces of age in the model", shortNumber(m.fine.cut)+" years, each with the age of its middle", cutWritten)
	}
	splineSettings(b, m.terms)
}

// splineSettings notes the knots, periods and references of shapes and says what
// they are.
func splineSettings(b *builder, terms []term) {
	spline, season := false, false
	for _, t := range terms {
		h := t.shape
		switch {
		case h == nil:
		case h.season != nil:
			season = true
			b.set("period of "+t.variable.Name, shortNumber(h.season.Period), t.periodWritten)
			b.set("pairs of "+t.variable.Name, strconv.Itoa(h.season.Pairs), t.pairsWritten)
		case h.spline.Knots != nil:
			spline = true
			var knots []string
			for _, k := range h.spline.Knots {
				knots = append(knots, shortNumber(k))
			}
			where := ""
			if h.knots > 0 {
				where = " (quantiles of the rows of the model)"
			}
			b.set("knots of "+t.variable.Name, strings.Join(knots, ", ")+where, h.knots == 0)
			b.set("reference."+t.variable.Name, shortNumber(h.reference), h.written)
		}
	}
	if spline {
		b.Methods += " Numbers named as splines enter as natural cubic splines, straight beyond the outer knots."
		b.cite("Durrleman 1989")
	}
	if season {
		b.Methods += " Season enters as sine and cosine of time."
		b.cite("Stolwijk 1999")
	}
}

// shortNumber writes a number as the plan would.
func shortNumber(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
