package run

import (
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
	"heelcohort/stats"
)

// observed are the rows of the analysis, in slices of equal length.
type observed struct {
	stats.Times
	row     []int     // of the table
	cause   []int     // of the end: 1 the event, 2 and on the competing ends in order, 0 none
	cluster []int     // of the row; nil: independent
	weight  []float64 // of the row; nil: 1 each
	start   []float64 // of the row's clock, a day of the table
	// between visits, of the analyses that have them; Right is NaN for a row
	// whose visits contradict each other.
	left, right []float64
}

func (o *observed) take(from *observed, i int) {
	if from.Entry != nil {
		o.Entry = append(o.Entry, from.Entry[i])
	}
	o.Exit, o.Status, o.row = append(o.Exit, from.Exit[i]), append(o.Status, from.Status[i]), append(o.row, from.row[i])
	o.cause, o.start = append(o.cause, from.cause[i]), append(o.start, from.start[i])
	if from.left != nil {
		o.left, o.right = append(o.left, from.left[i]), append(o.right, from.right[i])
	}
	if from.cluster != nil {
		o.cluster = append(o.cluster, from.cluster[i])
	}
	if from.weight != nil {
		o.weight = append(o.weight, from.weight[i])
	}
}

// withClusters gives the rows their clusters; a row whose cluster is missing is one
// of its own.
func (s *timeToEvent) withClusters(c *cohort.Cohort, o *observed) {
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

// observe makes the times, and accounts for the rows that have none.
func (s *timeToEvent) observe(c *cohort.Cohort, b *builder) (*observed, error) {
	n := c.Data.Table(s.table).Len()
	values := map[*cohort.Formula][]value.Value{}
	for _, f := range append([]*cohort.Formula{s.among, s.start, s.entry, s.end, s.when, s.weights}, s.competing...) {
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
	missing := [6]int{}
	others := 0
	negative, never, weightless := 0, 0, 0
	late := false
	for i := range n {
		if s.among != nil {
			w := values[s.among][i]
			if w.Missing {
				missing[5]++
				continue
			}
			if !w.Bool {
				others++
				continue
			}
		}
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
		if s.weights != nil {
			if w := values[s.weights][i]; w.Missing || !(w.Number > 0) || math.IsInf(w.Number, 0) {
				weightless++
				continue
			}
		}
		exit, from := end.Number-start.Number, max(0, entry.Number-start.Number)
		switch {
		case exit < 0:
			negative++
			b.found = append(b.found, locate(dataset.Finding{
				Rule: dataset.RuleDayOrder, Severity: dataset.Warning, Table: s.table, Expected: "a day not before the start",
				Message: fmt.Sprintf("the end, day %s, is before the start, day %s: the row is not in the analysis", shortNumber(end.Number), shortNumber(start.Number)),
			}, c.Data.Table(s.table), i, s.end))
			continue
		case s.entry != nil && exit <= from && s.together == nil: // of a unit it still tells
			never++
			continue
		}
		late = late || from > 0
		if s.entry != nil {
			o.Entry = append(o.Entry, from)
		}
		o.Exit, o.Status, o.row = append(o.Exit, exit), append(o.Status, when.Bool), append(o.row, i)
		o.cause, o.start = append(o.cause, cause), append(o.start, start.Number)
		if s.weights != nil {
			o.weight = append(o.weight, values[s.weights][i].Number)
		}
	}
	for i, what := range [5]string{"the start", "the entry", "the day of the end", "the event", "whether a competing end came"} {
		b.removed("rows", what+" missing", float64(missing[i]))
	}
	b.removed("rows", "not decided whether among those that count", float64(missing[5]))
	b.removed("rows", "not among those that count", float64(others))
	b.removed("rows", "the weight missing or not above 0", float64(weightless))
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
