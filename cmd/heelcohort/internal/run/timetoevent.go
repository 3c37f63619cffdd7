package run

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// timeToEvent is an analysis of kind time-to-event.
type timeToEvent struct {
	plan              *plan.TimeToEvent
	table             string
	start, entry      *cohort.Formula // nil: 0 and the start
	end, when         *cohort.Formula
	by                *term
	cluster           *cohort.Variable
	model             []term
	limits, ties      string
	unit              string
	hasModel, hasTies bool
	competing         []*cohort.Formula
	tests             []string
	strata            *cohort.Variable
}

// The tests of curves, as the plan names them.
var curveTests = []chosen[stats.WeightKind]{
	{"log-rank", stats.EqualWeights, "log-rank", "the log-rank test", []string{"Mantel 1966"}},
	{"gehan-breslow", stats.GehanBreslow, "Gehan-Breslow", "Gehan and Breslow's test", []string{"Breslow 1970"}},
	{"tarone-ware", stats.TaroneWare, "Tarone-Ware", "Tarone and Ware's test", []string{"Tarone 1977"}},
	{"peto-peto", stats.PetoPeto, "Peto-Peto", "Peto and Peto's test", []string{"Peto 1972"}},
}

func bindTimeToEvent(m *cohort.Model, a *plan.TimeToEvent) (job, error) {
	s := &timeToEvent{plan: a, limits: a.Limits, unit: a.Unit, hasModel: a.Model != nil}
	var err error
	if s.table, err = tableOf(m, a.Table); err != nil {
		return nil, err
	}
	for _, f := range []struct {
		from *plan.Expression
		to   **cohort.Formula
		kind value.Kind
	}{
		{a.Start, &s.start, value.Number},
		{a.Entry, &s.entry, value.Number},
		{&a.Event.Day, &s.end, value.Number},
		{&a.Event.When, &s.when, value.Bool},
	} {
		if f.from == nil {
			continue
		}
		if *f.to, err = m.Expression(s.table, *f.from, f.kind); err != nil {
			return nil, err
		}
	}
	for i := range a.Competing {
		f, err := m.Expression(s.table, a.Competing[i].When, value.Bool)
		if err != nil {
			return nil, err
		}
		s.competing = append(s.competing, f)
		for _, other := range a.Competing[:i] {
			if other.Label.Value == a.Competing[i].Label.Value {
				return nil, a.Competing[i].Label.Errorf(1, 1, "", "label %q stands twice among the competing ends", other.Label.Value)
			}
		}
		if a.Competing[i].Label.Value == eventTerm {
			return nil, a.Competing[i].Label.Errorf(1, 1, "", "label %q is the event's own, expected another", eventTerm)
		}
	}
	if s.limits == "" {
		s.limits = stats.LimitsLogLog
	}
	if s.unit == "" {
		s.unit = "days"
	}
	if a.By != nil {
		v, err := levelled(m, s.table, *a.By)
		if err != nil {
			return nil, err
		}
		s.by = &term{variable: v}
		if a.Reference != nil {
			if s.by.reference, err = m.Level(v, *a.Reference); err != nil {
				return nil, err
			}
			s.by.written = true
		}
	} else if a.Reference != nil {
		return nil, a.Reference.Errorf(1, 1, "", "a reference without by, expected by beside it")
	}
	s.tests = []string{"log-rank"}
	if a.Tests != nil {
		s.tests = nil
		for _, name := range a.Tests {
			if slices.Contains(s.tests, name.Value) {
				return nil, name.Errorf(1, 1, "", "%q stands twice among the tests", name.Value)
			}
			s.tests = append(s.tests, name.Value)
		}
		if s.by == nil {
			return nil, a.Tests[0].Errorf(1, 1, "", "tests of groups, but by names none, expected a grouping variable")
		}
	}
	if a.Stratify != nil {
		v, err := levelled(m, s.table, *a.Stratify)
		switch {
		case err != nil:
			return nil, err
		case s.by == nil || v.Name == s.by.variable.Name:
			return nil, a.Stratify.Errorf(1, 1, "", "strata of %q, expected a variable other than that of by", v.Name)
		}
		s.strata = &v
	}
	for _, list := range [][]float64{a.At, a.Ticks} {
		for i, t := range list {
			if t < 0 || i > 0 && t <= list[i-1] {
				return nil, m.Plan.Fault(a.Common().Position, "", fmt.Sprintf("times %v of analysis %q, expected ascending times from 0 on", list, a.ID.Value))
			}
		}
	}
	if a.Cluster != nil {
		v, err := m.Variable(s.table, *a.Cluster)
		if err != nil {
			return nil, err
		}
		s.cluster = &v
	}
	if a.Model == nil {
		return s, nil
	}
	s.ties, s.hasTies = a.Model.Ties, a.Model.Ties != ""
	if s.ties == "" {
		s.ties = stats.TiesEfron
	}
	var names []string
	for _, name := range a.Model.Terms {
		if slices.Contains(names, name.Value) {
			return nil, name.Errorf(1, 1, "", "%q is in the model already", name.Value)
		}
		names = append(names, name.Value)
		t, err := bindTerm(m, s.table, name, a.Model.Reference)
		if err != nil {
			return nil, err
		}
		if s.by != nil && s.by.written && !t.written && t.variable.Name == s.by.variable.Name {
			t.reference, t.written = s.by.reference, true
		}
		s.model = append(s.model, t)
	}
	if len(names) == 0 {
		return nil, m.Plan.Fault(a.Model.Position, "", "a model without terms, expected at least one")
	}
	return s, checkReferences(m, a.Model.Reference, names)
}

// observed are the rows of the analysis, in slices of equal length.
type observed struct {
	stats.Times
	row     []int // of the table
	cause   []int // of the end: 1 the event, 2 and on the competing ends in order, 0 none
	cluster []int // of the row; nil: independent
}

func (s *timeToEvent) run(_ context.Context, c *cohort.Cohort, b *builder) error {
	t := c.Data.Table(s.table)
	b.Unit = s.table
	s.settings(b)
	o, err := s.observe(c, b)
	if err != nil {
		return err
	}
	s.cluster0(c, o)
	groups := [][]result.Group{nil}
	group0 := make([]int, len(o.row))
	k := 1
	if s.by != nil {
		b.name(s.by.variable)
		column := t.Column(s.by.variable.Name)
		groups = nil
		levels := s.by.variable.Levels()
		for _, level := range levels {
			groups = append(groups, []result.Group{group(s.by.variable.Name, level)})
		}
		k = len(levels)
		var kept observed
		group0 = nil
		for i, row := range o.row {
			level, known := levelText(column, row)
			if !known {
				continue
			}
			kept.take(o, i)
			group0 = append(group0, slices.Index(levels, level))
		}
		b.removed("rows", s.by.variable.Label+" missing", float64(len(o.row)-len(kept.row)))
		o = &kept
	}
	ticks := s.plan.Ticks
	if ticks == nil {
		ticks = roundTimes(o.Exit)
		b.set("ticks", times(ticks), false)
	} else {
		b.set("ticks", times(ticks), true)
	}
	for g := range groups {
		var rows observed
		for i := range o.row {
			if group0[i] == g {
				rows.take(o, i)
			}
		}
		s.curve(b, groups[g], &rows, ticks)
		s.incidence(b, groups[g], &rows)
	}
	if k > 1 {
		s.compare(c, b, o, group0, groups)
		s.gray(b, o, group0, len(groups))
	}
	if s.hasModel {
		s.cox(c, b, o)
	}
	return nil
}

func (o *observed) take(from *observed, i int) {
	if from.Entry != nil {
		o.Entry = append(o.Entry, from.Entry[i])
	}
	o.Exit, o.Status, o.row = append(o.Exit, from.Exit[i]), append(o.Status, from.Status[i]), append(o.row, from.row[i])
	o.cause = append(o.cause, from.cause[i])
	if from.cluster != nil {
		o.cluster = append(o.cluster, from.cluster[i])
	}
}

// cluster0 gives the rows their clusters; a row whose cluster is missing is one
// of its own.
func (s *timeToEvent) cluster0(c *cohort.Cohort, o *observed) {
	if s.cluster == nil {
		return
	}
	t := c.Data.Table(s.table)
	all, known := clusters(t.Column(s.cluster.Name), t.Len())
	for i, row := range o.row {
		if known[row] {
			o.cluster = append(o.cluster, all[row])
		} else {
			o.cluster = append(o.cluster, -1-i)
		}
	}
}

func (s *timeToEvent) settings(b *builder) {
	start, entry := "0", "the start"
	if s.plan.Start != nil {
		start = s.plan.Start.Value
	}
	if s.plan.Entry != nil {
		entry = s.plan.Entry.Value
	}
	b.set("start", start, s.plan.Start != nil)
	b.set("entry", entry, s.plan.Entry != nil)
	b.set("event", s.plan.Event.When.Value, true)
	b.set("event day", s.plan.Event.Day.Value, true)
	b.set("limits of the curve", s.limits, s.plan.Limits != "")
	b.set("unit of time", s.unit, s.plan.Unit != "")
	variance := "Greenwood's variance"
	if s.cluster != nil {
		variance = "a variance robust to dependence within " + s.cluster.Label
	}
	b.Methods = fmt.Sprintf("The share without the event is the Kaplan–Meier estimate with %s and %s limits; the median is the first time at which the curve is at or below one half, with limits by Brookmeyer and Crowley.", variance, s.limits)
	b.cite("Kaplan 1958", "Kalbfleisch 1980", "Brookmeyer 1982")
	if s.entry != nil {
		b.Methods += " Rows observed only from after their start count as at risk from their entry on."
	}
	b.Methods += " Rows that end otherwise than by the event are censored there."
	switch {
	case len(s.competing) > 0:
		b.warn("The survival curve censors competing ends: one minus it is not the share that have the event, which the cumulative incidence is.")
		b.set("competing ends", s.competingWords(), true)
		b.Methods += " Cumulative incidences with competing ends are Aalen and Johansen's, with " + map[bool]string{false: "a variance of Greenwood's type", true: variance}[s.cluster != nil] + "."
		b.cite("Aalen 1978")
	default:
		b.warn("Ends other than the event are censored. Where such an end makes the event impossible (giving up the sport), one minus this curve overstates how many have the event.")
	}
	if s.cluster != nil {
		b.warn("The log-rank test takes rows as independent; the limits of the curves and the model allow for dependence within " + s.cluster.Label + ".")
	}
}

// observe makes the times, and accounts for the rows that have none.
func (s *timeToEvent) observe(c *cohort.Cohort, b *builder) (*observed, error) {
	n := c.Data.Table(s.table).Len()
	values := map[*cohort.Formula][]value.Value{}
	for _, f := range append([]*cohort.Formula{s.start, s.entry, s.end, s.when}, s.competing...) {
		if f == nil {
			continue
		}
		v, err := c.Values(f)
		if err != nil {
			return nil, err
		}
		values[f] = v
	}
	o := &observed{}
	missing := [5]int{}
	negative, never := 0, 0
	late := false
	for i := range n {
		start, entry := value.Num(0), value.Num(0)
		if s.start != nil {
			start = values[s.start][i]
		}
		if s.entry != nil {
			entry = values[s.entry][i]
		} else {
			entry = start
		}
		end, when := values[s.end][i], values[s.when][i]
		switch {
		case start.Missing:
			missing[0]++
			continue
		case entry.Missing:
			missing[1]++
			continue
		case end.Missing:
			missing[2]++
			continue
		case when.Missing:
			missing[3]++
			continue
		}
		cause, decided := 0, true
		if when.Bool {
			cause = 1
		} else {
			for k, f := range s.competing {
				w := values[f][i]
				if w.Missing {
					decided = false
					break
				}
				if w.Bool {
					cause = k + 2
					break
				}
			}
		}
		if !decided {
			missing[4]++
			continue
		}
		exit, from := end.Number-start.Number, max(0, entry.Number-start.Number)
		switch {
		case exit < 0:
			negative++
			continue
		case s.entry != nil && exit <= from:
			never++
			continue
		}
		late = late || from > 0
		if s.entry != nil {
			o.Entry = append(o.Entry, from)
		}
		o.Exit, o.Status, o.row = append(o.Exit, exit), append(o.Status, when.Bool), append(o.row, i)
		o.cause = append(o.cause, cause)
	}
	for i, what := range []string{"the start", "the entry", "the day of the end", "the event", "whether a competing end came"} {
		b.removed("rows", what+" missing", float64(missing[i]))
	}
	b.removed("rows", "the end is before the start", float64(negative))
	b.removed("rows", "ended no later than observation began", float64(never))
	if negative > 0 {
		b.warn(fmt.Sprintf("%d rows end before they start and were left out: look at their days.", negative))
	}
	if !late {
		o.Entry = nil
	}
	return o, nil
}

// compare adds the tests of the groups, and the events expected by them.
func (s *timeToEvent) compare(c *cohort.Cohort, b *builder, o *observed, groups []int, names [][]result.Group) {
	times, opts := o.Times, stats.LogRankOptions{}
	n := len(o.row)
	within := ""
	if s.strata != nil {
		b.name(*s.strata)
		b.set("stratify", s.strata.Name, true)
		within = " within " + lowerLabel(*s.strata)
		column := c.Data.Table(s.table).Column(s.strata.Name)
		kept, of := stats.Times{}, []int(nil)
		for i, row := range o.row {
			level, known := levelText(column, row)
			if !known {
				continue
			}
			if o.Entry != nil {
				kept.Entry = append(kept.Entry, o.Entry[i])
			}
			kept.Exit, kept.Status = append(kept.Exit, o.Exit[i]), append(kept.Status, o.Status[i])
			of = append(of, groups[i])
			opts.Strata = append(opts.Strata, slices.Index(s.strata.Levels(), level))
		}
		b.removed("rows", s.strata.Label+" missing: not in the tests", float64(n-len(of)))
		times, groups, n = kept, of, len(of)
	}
	var said []string
	var first stats.LogRankResult
	var firstErr error
	for i, name := range s.tests {
		choice := choose(curveTests, name)
		said = append(said, choice.sentence)
		b.cite(choice.cite...)
		opts.Weight = stats.LogRankWeight{Kind: choice.method}
		test, err := stats.LogRank(times, groups, len(names), opts)
		b.test("tests", name, test.Test, n, err)
		if i == 0 {
			first, firstErr = test, err
		}
	}
	b.Methods += " Groups are compared by " + listed(said) + within + "."
	b.set("tests", strings.Join(s.tests, ", "), s.plan.Tests != nil)
	if firstErr != nil {
		return
	}
	test := first
	for g := range names {
		r := b.row("expected", "expected events", names[g]...)
		r.Events, r.N = result.Number(test.Observed[g]), result.Number(test.N[g])
		b.add(number(r, test.Expected[g], ""))
	}
}

// cox adds the model.
func (s *timeToEvent) cox(c *cohort.Cohort, b *builder, o *observed) {
	t := c.Data.Table(s.table)
	b.setTerms(s.model)
	b.set("ties", s.ties, s.hasTies)
	b.Methods += fmt.Sprintf(" Hazard ratios come from Cox regression with %s's handling of ties", strings.ToUpper(s.ties[:1])+s.ties[1:])
	b.cite("Cox 1972")
	if s.ties == stats.TiesEfron {
		b.cite("Efron 1977")
	} else {
		b.cite("Breslow 1974")
	}
	usable := make([]bool, len(o.row))
	for i := range usable {
		usable[i] = true
	}
	opts := stats.CoxOptions{Level: b.level, Ties: s.ties}
	var ids []int
	if s.cluster != nil {
		all, known := clusters(t.Column(s.cluster.Name), t.Len())
		ids = make([]int, len(o.row))
		for i, row := range o.row {
			ids[i], usable[i] = all[row], known[row]
		}
		b.set("cluster", s.cluster.Name, true)
		b.Methods += " and errors robust to dependence within " + s.cluster.Label
		b.cite("Lin 1989")
	} else {
		b.set("cluster", "none: rows taken as independent", false)
	}
	b.Methods += "."
	values := make([][]value.Value, len(s.model))
	for k, column := range tableValues(t, s.model) {
		for _, row := range o.row {
			values[k] = append(values[k], column[row])
		}
	}
	d, err := newDesign(s.model, values, usable)
	if err != nil {
		b.fit("model", "hazard ratio", nil, stats.Fit{}, err)
		return
	}
	b.removed("rows", "incomplete: not in the model", float64(len(o.row)-len(d.rows)))
	var rows observed
	for _, i := range d.rows {
		rows.take(o, i)
		if ids != nil {
			opts.Cluster = append(opts.Cluster, ids[i])
		}
	}
	f, err := stats.FitCox(rows.Times, d.x, d.names(), opts)
	b.fit("model", "hazard ratio", d, f, err)
}
