package run

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// A subject is one whose value is followed over visits.
type subject struct {
	group   int       // level of by; -1 without
	cluster int       // any number
	rows    []int     // all its visits that count, in order of day
	days    []float64 // of rows
	at      []int     // of rows: the visit it falls into, -1 for none
	chosen  []int     // by visit: among rows, -1 where there was none

	base   value.Value // at the baseline
	start  float64     // its day; NaN without one
	origin int         // the row of what else is known at the baseline
}

// followed are the subjects with the values of the table's rows.
type followed struct {
	values   []value.Value
	subjects []*subject
}

// number is the value of a subject at a visit; ok is false where it is missing.
func (f *followed) number(s *subject, visit int) (x float64, ok bool) {
	if visit == 0 {
		return s.base.Number, !s.base.Missing
	}
	if s.chosen[visit] < 0 {
		return nan, false
	}
	v := f.values[s.rows[s.chosen[visit]]]
	return v.Number, !v.Missing
}

// read gathers the visits by subject and accounts for those that do not enter,
// each under the first reason that applies.
func (s *change) read(c *cohort.Cohort, b *builder) (*followed, error) {
	t := c.Data.Table(s.table)
	if n := c.Aside(s.table); n > 0 {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys and are not counted.", n, s.table))
	}
	days, err := c.Values(s.day)
	if err != nil {
		return nil, err
	}
	among, err := values(c, s.among)
	if err != nil {
		return nil, err
	}
	f := &followed{values: make([]value.Value, t.Len())}
	known := map[string]*subject{}
	column := t.Column(s.value.Name)
	not, undecided, nobody, dayless := 0, 0, 0, 0
	for i := range t.Len() {
		f.values[i] = column.Value(i)
		key, whole := subjectKey(t, s.subject, i)
		switch {
		case among != nil && among[i].Missing:
			undecided++
			continue
		case among != nil && !among[i].Bool:
			not++
			continue
		case !whole:
			nobody++
			continue
		case days[i].Missing:
			dayless++
			continue
		}
		one := known[key]
		if one == nil {
			one = &subject{}
			known[key] = one
			f.subjects = append(f.subjects, one)
		}
		one.rows, one.days = append(one.rows, i), append(one.days, days[i].Number)
	}
	b.removed("visits", "not among those that count", float64(not))
	b.removed("visits", "not decided whether among those that count", float64(undecided))
	b.removed("visits", "the subject is missing", float64(nobody))
	b.removed("visits", "the day is missing", float64(dayless))
	s.place(b, t, f)
	if err := s.outside(c, b, f); err != nil {
		return nil, err
	}
	s.choose(b, f)
	return f, nil
}

// place gives the subjects their group and cluster, which all their visits must
// share. Others leave.
func (s *change) place(b *builder, t *dataset.Table, f *followed) {
	// word is the one level or text that the rows of a subject have.
	word := func(one *subject, v cohort.Variable) (text string, found, torn bool) {
		c := t.Column(v.Name)
		for _, row := range one.rows {
			if x := c.Value(row); !x.Missing {
				torn = torn || found && x.String() != text
				text, found = x.String(), true
			}
		}
		return text, found, torn
	}
	leave := func(v cohort.Variable, use func(one *subject, text string) bool) {
		lacking, torn, visits, tornVisits := 0, 0, 0, 0
		f.subjects = slices.DeleteFunc(f.subjects, func(one *subject) bool {
			text, found, differs := word(one, v)
			switch {
			case differs:
				torn, tornVisits = torn+1, tornVisits+len(one.rows)
			case found && use(one, text):
				return false
			default:
				lacking, visits = lacking+1, visits+len(one.rows)
			}
			return true
		})
		b.removed("subjects", v.Label+" missing", float64(lacking))
		b.removed("visits", "of subjects whose "+v.Label+" is missing", float64(visits))
		b.removed("subjects", v.Label+" differs between the visits", float64(torn))
		b.removed("visits", "of subjects whose "+v.Label+" differs between the visits", float64(tornVisits))
		if torn > 0 {
			b.warn(fmt.Sprintf("%d subjects have visits of different %s and are left out: look at their rows.", torn, v.Label))
		}
	}
	for _, one := range f.subjects {
		one.group = -1
	}
	if s.by != nil {
		levels := s.by.variable.Levels()
		leave(s.by.variable, func(one *subject, text string) bool {
			one.group = slices.Index(levels, text)
			return one.group >= 0
		})
	}
	if s.cluster != nil {
		numbers := map[string]int{}
		leave(*s.cluster, func(one *subject, text string) bool {
			if _, known := numbers[text]; !known {
				numbers[text] = len(numbers)
			}
			one.cluster = numbers[text]
			return true
		})
		return
	}
	for i, one := range f.subjects {
		one.cluster = i
	}
}

// outside gives the subjects a baseline that stands outside the visits. Those
// whose rows disagree of it leave.
func (s *change) outside(c *cohort.Cohort, b *builder, f *followed) error {
	if s.start == nil {
		return nil
	}
	start, err := c.Values(s.start)
	if err != nil {
		return err
	}
	from, err := values(c, s.from)
	if err != nil {
		return err
	}
	torn, visits, dayless := 0, 0, 0
	f.subjects = slices.DeleteFunc(f.subjects, func(one *subject) bool {
		one.base = start[one.rows[0]]
		differs, day := false, value.Num(0)
		if from != nil {
			day = from[one.rows[0]]
		}
		for _, row := range one.rows {
			differs = differs || start[row] != one.base || from != nil && from[row] != day
		}
		one.start = day.Number
		if day.Missing {
			if !one.base.Missing {
				dayless++
			}
			one.start, one.base = nan, value.Value{Kind: value.Number, Missing: true, Code: day.Code}
		}
		if differs {
			torn, visits = torn+1, visits+len(one.rows)
		}
		return differs
	})
	b.removed("subjects", "the day of the baseline missing: its value is not used", float64(dayless))
	b.removed("subjects", "the baseline differs between the visits", float64(torn))
	b.removed("visits", "of subjects whose baseline differs between the visits", float64(visits))
	if torn > 0 {
		b.warn(fmt.Sprintf("%d subjects have visits with different baselines and are left out: look at their rows.", torn))
	}
	return nil
}

// choose sorts the visits of each subject by day, finds which planned visit each
// is, and takes one for each: of several those with a value come first, then the
// nearest to the target, then the earlier.
func (s *change) choose(b *builder, f *followed) {
	outside, skipped, unnamed, early, second, lacking := 0, 0, 0, 0, 0, 0
	for _, one := range f.subjects {
		order := everyRow(len(one.rows))
		sort.SliceStable(order, func(i, j int) bool { return one.days[order[i]] < one.days[order[j]] })
		rows, days := make([]int, len(order)), make([]float64, len(order))
		for k, i := range order {
			rows[k], days[k] = one.rows[i], one.days[i]
		}
		one.rows, one.days = rows, days
		one.at = make([]int, len(rows))
		one.chosen = slices.Repeat([]int{-1}, len(s.visit.Words))
		for k := range rows {
			one.at[k] = s.visitOf(rows[k], days[k])
			s.better(f, one, k)
		}
		if s.start == nil {
			one.base, one.start = value.Value{Kind: value.Number, Missing: true}, nan
			if k := one.chosen[0]; k >= 0 {
				one.base, one.start, one.origin = f.values[rows[k]], days[k], rows[k]
			}
		} else {
			one.origin = rows[0]
		}
		// A visit of a later level that is not after the baseline is none.
		for k := range rows {
			if v := one.at[k]; v > 0 && days[k] <= one.start {
				one.at[k] = visitEarly
			}
		}
		one.chosen = slices.Repeat([]int{-1}, len(s.visit.Words))
		for k := range rows {
			s.better(f, one, k)
		}
		for k := range rows {
			switch v := one.at[k]; {
			case v == visitNone:
				outside++
			case v == visitUnnamed:
				unnamed++
			case v == visitSkipped:
				skipped++
			case v == visitEarly:
				early++
			case one.chosen[v] != k:
				second++
			}
		}
		if _, ok := f.number(one, 0); !ok {
			lacking++
		}
	}
	alone := ""
	if s.threshold != nil {
		alone = ": in the time to the threshold alone"
	}
	b.removed("visits", "outside every window"+alone, float64(outside))
	b.removed("visits", s.visit.Label+" missing"+alone, float64(unnamed))
	b.removed("visits", "planned before the baseline", float64(skipped))
	b.removed("visits", "planned after the baseline, but not after its day", float64(early))
	b.removed("visits", "another of the same visit has a value or is nearer its target"+alone, float64(second))
	b.removed("subjects", "no value at the baseline: in the means, not in change", float64(lacking))
	if early > 0 {
		b.warn(fmt.Sprintf("%d visits that were planned after the baseline lie on its day or before it and are left out: look at their days.", early))
	}
	if lacking > 0 {
		b.warn(fmt.Sprintf("%d of %d subjects have no value at the baseline: they are in the means of the visits, and in nothing that is about change.", lacking, len(f.subjects)))
	}
}

// What a visit is that is none of the planned ones.
const (
	visitNone    = -1 - iota // outside the windows
	visitUnnamed             // the variable that names it is missing
	visitSkipped             // a level before the baseline
	visitEarly               // not after the baseline visit
)

// better takes a visit for that of its subject if it is the first or better.
func (s *change) better(f *followed, one *subject, k int) {
	v := one.at[k]
	if v < 0 {
		return
	}
	best := one.chosen[v]
	if best < 0 {
		one.chosen[v] = k
		return
	}
	has, had := !f.values[one.rows[k]].Missing, !f.values[one.rows[best]].Missing
	switch {
	case has != had:
		if has {
			one.chosen[v] = k
		}
	case s.windows != nil && math.Abs(one.days[k]-s.windows[v].target) < math.Abs(one.days[best]-s.windows[v].target):
		one.chosen[v] = k
	}
}
