package run

import (
	"fmt"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// spellRows are the rows of children at risk of a spell, for a model.
type spellRows struct {
	stats.Times
	child, cluster []int
	number         []int     // which spell a row is at risk of, from 1
	since          []float64 // the day the spell before was over; 0 before the first
}

// justBefore is by how much before a first day a row begins, so that an onset on
// that day is in it: less than a second, and more than is lost by counting days
// from another one.
const justBefore = 1e-6

// add adds the rows of a child that are at risk.
func (r *spellRows) add(f *followedChild, rows []countRow, cluster int) {
	for _, q := range rows {
		if q.opened {
			q.entry -= justBefore
		}
		number, since := 1, 0.0
		for _, x := range f.spells {
			if x.from < q.exit { // known, whether under observation or before it
				number, since = number+1, x.to
			}
		}
		r.Entry, r.Exit, r.Status = append(r.Entry, q.entry), append(r.Exit, q.exit), append(r.Status, q.event)
		r.child, r.cluster = append(r.child, f.row), append(r.cluster, cluster)
		r.number, r.since = append(r.number, number), append(r.since, since)
	}
}

// pick are some of the rows.
func (r *spellRows) pick(rows []int) *spellRows {
	out := &spellRows{}
	for _, i := range rows {
		out.Entry, out.Exit, out.Status = append(out.Entry, r.Entry[i]), append(out.Exit, r.Exit[i]), append(out.Status, r.Status[i])
		out.child, out.cluster = append(out.child, r.child[i]), append(out.cluster, r.cluster[i])
		out.number, out.since = append(out.number, r.number[i]), append(out.since, r.since[i])
	}
	return out
}

// counts are the children with a row, and the spells, of the rows kept.
func (r *spellRows) counts(keep func(i int) bool) (children, spells int) {
	seen := map[int]bool{}
	for i, who := range r.child {
		if !keep(i) {
			continue
		}
		seen[who] = true
		if r.Status[i] {
			spells++
		}
	}
	return len(seen), spells
}

// layouts are the layouts of package stats by the plan's words.
var layouts = map[string]stats.RecurrentLayout{
	plan.LayoutAndersenGill: stats.AndersenGill, plan.LayoutTotalTime: stats.PrenticeTotal, plan.LayoutGapTime: stats.PrenticeGap,
}

// regress adds the Cox model of spells.
func (s *recurrence) regress(c *cohort.Cohort, b *builder, followed []*followedChild) {
	k := s.model
	if k == nil {
		return
	}
	k.settings(b, s)
	all := &spellRows{}
	ids, known := s.clustersOf(c, k.cluster)
	values := make([][]value.Value, len(k.terms))
	columns := tableValues(c.Data.Table(s.m.participants), k.terms)
	usable := []bool{}
	within := 0
	for _, f := range followed {
		rows := f.free
		if k.layout == plan.LayoutMarginal {
			rows = f.countRows(f.under)
		}
		if len(rows) == 0 {
			within++
		}
		all.add(f, rows, ids[f.row])
		for range rows {
			for j := range values {
				values[j] = append(values[j], columns[j][f.row])
			}
			usable = append(usable, known[f.row])
		}
	}
	b.removed("children", "never free of symptoms under observation: not in the model", float64(within))
	d, err := newDesign(k.terms, values, usable)
	if err != nil {
		b.fit("model", "hazard ratio", nil, stats.Fit{}, err)
		return
	}
	rows := all.pick(d.rows)
	every := func(int) bool { return true }
	before, spellsBefore := all.counts(every)
	children, spells := rows.counts(every)
	b.removed("children", "incomplete: not in the model", float64(before-children))
	b.removed("spells", "of children that are incomplete: not in the model", float64(spellsBefore-spells))
	size := b.row("model", "children")
	size.Events = result.Number(spells)
	b.add(number(size, float64(children), ""))
	switch {
	case k.layout == plan.LayoutMarginal:
		k.marginal(b, d, rows)
	case k.frailty:
		k.shared(b, d, rows)
	default:
		f, err := stats.FitRecurrent(rows.Times, rows.child, d.x, d.names(), k.options(b, rows))
		b.fit("model", "hazard ratio", d, f, err)
		if err == nil {
			b.proportionality(k.terms, d, f)
		}
	}
}

func (k *recurrenceModel) options(b *builder, rows *spellRows) stats.RecurrentOptions {
	o := stats.RecurrentOptions{
		Layout: layouts[k.layout], LargestNumber: k.largest, Number: rows.number, Ties: k.ties, Level: b.level, Cluster: rows.cluster,
	}
	if k.layout == plan.LayoutGapTime {
		o.Since = rows.since
	}
	return o
}

// shared adds the model with a frailty.
func (k *recurrenceModel) shared(b *builder, d *design, rows *spellRows) {
	laid, err := stats.LayOutRecurrent(rows.Times, rows.child, k.options(b, rows))
	var f stats.FrailtyFit
	if err == nil {
		f, err = stats.FitCoxFrailty(laid.Times, rows.cluster, d.x, d.names(), stats.FrailtyOptions{Ties: k.ties, Level: b.level, Strata: laid.Strata})
	}
	b.fit("model", "hazard ratio", d, f.Fit, err)
	if err != nil {
		b.add(b.estimate(b.row("model", "frailty variance"), stats.Estimate{}, err))
		return
	}
	b.frailty("model", "Kendall's tau", f)
}

// marginal adds the models of the first, the second and further spells.
func (k *recurrenceModel) marginal(b *builder, d *design, rows *spellRows) {
	var long spellRows
	var x [][]float64
	var kind []int
	kinds := make([]string, k.largest)
	for e := range kinds {
		kinds[e] = strconv.Itoa(e + 1)
	}
	for i := range rows.child {
		for e := rows.number[i]; e <= k.largest; e++ {
			long.Entry, long.Exit = append(long.Entry, rows.Entry[i]), append(long.Exit, rows.Exit[i])
			long.Status = append(long.Status, rows.Status[i] && rows.number[i] == e)
			long.child, long.cluster = append(long.child, rows.child[i]), append(long.cluster, rows.cluster[i])
			x, kind = append(x, d.x[i]), append(kind, e-1)
		}
	}
	_, later := rows.counts(func(i int) bool { return rows.number[i] > k.largest })
	b.removed("spells", "after the last spell modelled: not in the model", float64(later))
	f, err := stats.FitMarginalCox(long.Times, x, d.names(), kind, kinds, stats.CoxOptions{Ties: k.ties, Level: b.level, Cluster: long.cluster})
	if err != nil {
		b.fit("model", "hazard ratio", d, f, err)
		return
	}
	n := len(kinds)
	for j, c := range d.columns {
		columns := make([]int, n)
		for e := range columns {
			columns[e] = j*n + e
		}
		r := b.row("model", "average hazard ratio")
		r.Variable, r.Term = c.variable, c.level
		e, weights, err := f.WeightedAverage("", columns, b.level)
		if err == nil {
			own := e.Warnings
			e = f.Ratio("", weights, b.level)
			e.Method, e.Warnings = "average over the spells, "+e.Method, append(own, e.Warnings...)
		}
		b.add(b.estimate(r, e, err))
	}
	r := b.row("model", "log likelihood")
	r.N, r.Events = result.Number(f.N), result.Number(f.Events)
	for _, w := range f.Warnings {
		r.Warnings = append(r.Warnings, w.Text)
	}
	b.add(number(r, f.LogLik, "not defined for this model"))
	for _, t := range f.Tests {
		b.test("model", t.Name, t, f.N, nil)
	}
	for _, t := range k.terms {
		if columns := d.columnsOf(t.variable.Name); columns != nil && n > 1 {
			b.equalRatios(t.variable.Name, f, columns, n)
		}
	}
	for e := range kinds {
		b.ofSpell(d, f, &long, kind, e, n)
	}
	for _, level := range d.dropped {
		b.warn(fmt.Sprintf("Model: no row has the level %s, which the model therefore leaves out.", level))
	}
}

// equalRatios adds the test that the ratios of a variable are the same for all
// numbers of a spell.
func (b *builder) equalRatios(variable string, f stats.Fit, columns []int, n int) {
	var h [][]float64
	for _, j := range columns {
		for e := 1; e < n; e++ {
			row := make([]float64, len(f.Coefficients))
			row[j*n], row[j*n+e] = 1, -1
			h = append(h, row)
		}
	}
	t := f.WaldTest("test of equal ratios", h, nil)
	r := b.testRow("model", t.Name, t, nil)
	r.Variable, r.N = variable, result.Number(f.N)
	if !r.Statistic.Present() && len(t.Warnings) > 0 {
		r.Reason = t.Warnings[0].Text
	}
	b.add(r)
}

// ofSpell adds the ratios of one number of a spell.
func (b *builder) ofSpell(d *design, f stats.Fit, long *spellRows, kind []int, e, n int) {
	part := "model of spell " + strconv.Itoa(e+1)
	children, spells := long.counts(func(i int) bool { return kind[i] == e })
	size := b.row(part, "children")
	size.Events = result.Number(spells)
	b.add(number(size, float64(children), ""))
	for j, c := range d.columns {
		for _, measure := range []string{"hazard ratio", "coefficient"} {
			r := b.row(part, measure)
			r.Variable, r.Term = c.variable, c.level
			estimate := f.Estimates[j*n+e]
			if measure == "coefficient" {
				estimate = f.Coefficient(j*n+e, b.level)
			}
			b.add(b.estimate(r, estimate, nil))
		}
	}
}

// settings notes the choices of the model, and says what it compares.
func (k *recurrenceModel) settings(b *builder, s *recurrence) {
	b.setTerms(k.terms)
	b.set("layout of the model", k.layout, k.hasLayout)
	b.set("ties", k.ties, k.hasTies)
	words, source := coxTies(k.ties)
	b.Methods += " Spells are modelled by Cox regression with " + words
	b.cite("Cox 1972", source)
	who := "a child"
	if k.cluster != nil {
		b.name(*k.cluster)
		who = k.cluster.Label
		b.set("cluster", k.cluster.Name, true)
	} else {
		b.set("cluster", "the row of "+s.m.participants, false)
	}
	switch {
	case k.frailty:
		b.set("frailty", "gamma", true)
		b.Methods += " and a gamma frailty that the spells of " + who + " share, whose variance has profile likelihood limits: ratios compare children of the same frailty"
		b.cite("Therneau 2003", "Nielsen 1992", "Self 1987")
	default:
		b.Methods += " and errors robust to dependence within " + who
		b.cite("Lin 1989")
	}
	bound := "none: each number its own"
	if k.largest > 0 {
		bound = strconv.Itoa(k.largest)
	}
	switch k.layout {
	case plan.LayoutAndersenGill:
		b.Methods += ". All spells count alike, on the clock of the analysis (Andersen and Gill): hazard ratios compare the rates of spells of those free of symptoms"
		b.cite("Andersen 1982", "Lin 2000")
	case plan.LayoutTotalTime, plan.LayoutGapTime:
		clock := "the clock of the analysis"
		if k.layout == plan.LayoutGapTime {
			clock = "the days since the spell before was over, before the first on the clock of the analysis"
			b.set("clock of the model", "since the spell before was over", false)
		}
		b.set("largest number with a baseline of its own", bound, k.largest > 0)
		b.Methods += ". Children that have had as many spells, those known from before observation among them, are compared with each other, on " + clock + " (Prentice, Williams and Peterson)"
		b.cite("Prentice 1981")
		if k.frailty {
			b.warn("With a baseline for each number of a spell, frailty can hardly be told from what a spell does to the next: its variance is uncertain beyond its limits.")
		}
		b.warn("Children compared at a later spell are those who had the earlier ones: they need no longer be alike but for the terms of the model.")
	default:
		b.set("last spell modelled", bound, true)
		b.Methods += ". Each number of a spell has a model of its own for the time to it, of all children from the start of their observation, days within a spell included (Wei, Lin and Weissfeld); average ratios weigh these by their covariance"
		b.cite("Wei 1989")
		b.warn("The ratio of a later spell in the marginal model carries those of the earlier ones with it: it compares times to that spell, not risks after the one before.")
	}
	b.Methods += "."
	if k.layout != plan.LayoutMarginal {
		b.Methods += " Days of a spell and of the gap after it are not at risk."
	}
	if s.amount {
		b.Methods += " Hazards are by the day, whatever the person-time of the rates."
	}
	if s.ends != nil {
		b.Methods += " Exits for good are censored in the model."
	}
}
