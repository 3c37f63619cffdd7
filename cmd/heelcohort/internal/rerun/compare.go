package rerun

import (
	"fmt"
	"math"
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
)

// An entry is one row of the results, or one line of what stands beside them,
// as numbers with names.
type entry struct {
	id, analysis string
	numbers      []Number // Before alone is set
}

func (e *entry) add(name string, x result.Number) {
	e.numbers = append(e.numbers, Number{Name: name, Before: x})
}

// entries lists every number of results.
func entries(res *result.Results) []entry {
	var list []entry
	for i := range res.Rows {
		r := &res.Rows[i]
		e := entry{id: r.Address(), analysis: r.Analysis}
		e.add("estimate", r.Estimate)
		e.add("lower", r.Lower)
		e.add("upper", r.Upper)
		e.add("se", r.SE)
		e.add("level", r.Level)
		e.add("p", r.P)
		e.add("statistic", r.Statistic)
		e.add("df", r.DF)
		e.add("n", r.N)
		e.add("events", r.Events)
		e.add("censored", r.Censored)
		e.add("person_time", r.PersonTime)
		list = append(list, e)
	}
	one := func(analysis, id, name string, x result.Number) {
		list = append(list, entry{id: id, analysis: analysis, numbers: []Number{{Name: name, Before: x}}})
	}
	for _, a := range res.Analyses {
		for _, r := range a.Accounting {
			one(a.ID, fmt.Sprintf("%s, accounting: %s, %s", a.ID, r.What, r.Reason), "n", r.N)
		}
	}
	for i, f := range res.Flow {
		e := entry{id: fmt.Sprintf("flow: %s, step %d, %s", f.Table, i+1, f.Step)}
		e.add("removed", result.Number(f.Removed))
		e.add("missing", result.Number(f.Missing))
		e.add("left", result.Number(f.Left))
		list = append(list, e)
	}
	for _, c := range res.Findings {
		one("", fmt.Sprintf("findings: %s, %s", c.Severity, c.Rule), "n", result.Number(c.N))
	}
	for _, i := range res.Instruments {
		id := fmt.Sprintf("instruments: %s.%s", i.Table, i.Variable)
		one("", id, "values", result.Number(i.Values))
		for _, m := range i.Missing {
			one("", id+", missing "+m.Code, "n", result.Number(m.N))
		}
	}
	return list
}

// compare compares the stored results with others: the rows that are not the
// same, in the order of the stored ones and then of the others, and the count
// of all.
func compare(stored, now *result.Results, tolerance float64) ([]Row, Counts) {
	var rows []Row
	var counts Counts
	later := map[string][]entry{} // of one id in order; a stored file that was edited may hold it twice
	for _, e := range entries(now) {
		later[e.id] = append(later[e.id], e)
	}
	for _, e := range entries(stored) {
		others := later[e.id]
		if len(others) == 0 {
			counts.Gone++
			rows = append(rows, e.alone(Gone))
			continue
		}
		later[e.id] = others[1:]
		row := e.against(others[0], tolerance)
		switch row.Verdict {
		case Same:
			counts.Same++
			continue
		case Within:
			counts.Within++
		default:
			counts.Moved++
		}
		rows = append(rows, row)
	}
	for _, e := range entries(now) {
		if rest := later[e.id]; len(rest) > 0 {
			counts.New++
			rows = append(rows, e.alone(New))
			later[e.id] = rest[1:]
		}
	}
	return rows, counts
}

// alone is the row of an entry that the other results do not have.
func (e entry) alone(verdict string) Row {
	row := Row{ID: e.id, Analysis: e.analysis, Verdict: verdict, Causes: []string{}, Numbers: []Number{}}
	for _, n := range e.numbers {
		if !n.Before.Present() {
			continue
		}
		n.After, n.Relative = result.None(), result.None()
		if verdict == New {
			n.Before, n.After = n.After, n.Before
		}
		row.Numbers = append(row.Numbers, n)
	}
	return row
}

// against compares the numbers of one entry with those of its like.
func (e entry) against(now entry, tolerance float64) Row {
	row := Row{ID: e.id, Analysis: e.analysis, Verdict: Same, Causes: []string{}, Numbers: []Number{}}
	for i, n := range e.numbers {
		n.After = now.numbers[i].Before
		a, b := float64(n.Before), float64(n.After)
		if a == b || math.IsNaN(a) && math.IsNaN(b) {
			continue
		}
		relative := math.Abs(a-b) / max(math.Abs(a), math.Abs(b))
		n.Relative = result.Number(relative)
		row.Numbers = append(row.Numbers, n)
		switch {
		case !(relative <= tolerance): // NaN, where one is absent or unbounded, never holds
			row.Verdict = Moved
		case row.Verdict == Same:
			row.Verdict = Within
		}
	}
	return row
}

// differing are the ids of rows that do not hold.
func differing(rows []Row) map[string]bool {
	ids := map[string]bool{}
	for _, r := range rows {
		if r.Verdict != Within {
			ids[r.ID] = true
		}
	}
	return ids
}

// words lists the settings, labels and sentences that differ.
func words(stored, now *result.Results) []Word {
	var list []Word
	add := func(where, what, before, after string) {
		if before != after {
			list = append(list, Word{where, what, before, after})
		}
	}
	settings := func(where string, a, b []result.Setting) {
		keys := map[string]bool{}
		for _, s := range slices.Concat(a, b) {
			if !keys[s.Key] {
				keys[s.Key] = true
				add(where, "setting "+s.Key, settingOf(a, s.Key), settingOf(b, s.Key))
			}
		}
	}
	add("", "title", stored.Title, now.Title)
	settings("", stored.Settings, now.Settings)
	for i := range stored.Analyses {
		a := &stored.Analyses[i]
		b, there := now.Analysis(a.ID)
		if !there {
			continue
		}
		add(a.ID, "title", a.Title, b.Title)
		add(a.ID, "unit", a.Unit, b.Unit)
		add(a.ID, "methods", a.Methods, b.Methods)
		settings(a.ID, a.Settings, b.Settings)
		for _, v := range a.Variables {
			if w, there := b.Variable(v.Name); there {
				add(a.ID, "labels of "+v.Name, labels(v), labels(w))
			}
		}
		add(a.ID, "warnings", fmt.Sprint(a.Warnings), fmt.Sprint(b.Warnings))
	}
	later := map[string]*result.Row{}
	for i := range now.Rows {
		later[now.Rows[i].Address()] = &now.Rows[i]
	}
	for i := range stored.Rows {
		a := &stored.Rows[i]
		b := later[a.Address()]
		if b == nil {
			continue
		}
		add(a.Address(), "unit", a.Unit, b.Unit)
		add(a.Address(), "method", a.Method, b.Method)
		add(a.Address(), "reason", a.Reason, b.Reason)
		add(a.Address(), "warnings", fmt.Sprint(a.Warnings), fmt.Sprint(b.Warnings))
	}
	return list
}

func settingOf(list []result.Setting, key string) string {
	for _, s := range list {
		if s.Key == key {
			return s.Value
		}
	}
	return ""
}

func labels(v result.Variable) string {
	text := v.Label
	if v.Unit != "" {
		text += " (" + v.Unit + ")"
	}
	for _, l := range slices.Concat(v.Levels, v.Missing) {
		text += fmt.Sprintf("; %s = %s", l.Value, l.Label)
	}
	return text
}
