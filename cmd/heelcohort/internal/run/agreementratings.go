package run

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// ratings are the subjects that every rater has rated.
type ratings struct {
	raters  []cohort.Variable // their names and labels
	values  [][]value.Value   // by subject, by rater
	cluster []int             // numbered from 0; nil without
}

// read gathers the ratings and accounts for what does not enter.
func (s *agreement) read(c *cohort.Cohort, b *builder) (*ratings, error) {
	t := c.Data.Table(s.table)
	if n := c.Aside(s.table); n > 0 {
		b.warn(fmt.Sprintf("%d rows of %s were set aside for faulty keys and are not counted.", n, s.table))
	}
	var r *ratings
	var rows []int // of the data, one a subject
	if s.rater == nil {
		r, rows = s.wide(t, b)
	} else {
		r, rows = s.long(t, b)
	}
	if s.cluster != nil {
		s.number(t, b, r, rows)
		return r, nil
	}
	return r, s.warnOfSiblings(c, b, rows)
}

// wide takes each row for a subject.
func (s *agreement) wide(t *dataset.Table, b *builder) (*ratings, []int) {
	r := &ratings{raters: s.ratings}
	var rows []int
	missing := make([]map[string]int, len(s.ratings))
	lacking := 0
	for i := range missing {
		missing[i] = map[string]int{}
	}
	for i := range t.Len() {
		var values []value.Value
		whole := true
		for j, v := range s.ratings {
			x := t.Column(v.Name).Value(i)
			if x.Missing {
				missing[j][x.Code]++
				whole = false
			}
			values = append(values, x)
		}
		if !whole {
			lacking++
			continue
		}
		r.values, rows = append(r.values, values), append(rows, i)
	}
	for j, v := range s.ratings {
		b.missingRatings(v, nil, missing[j])
	}
	b.removed("subjects", "a rating is missing", float64(lacking))
	return r, rows
}

// missingRatings adds the missing ratings of one rater by code.
func (b *builder) missingRatings(v cohort.Variable, rater []result.Group, codes map[string]int) {
	for _, code := range orderedCodes(v.Codes, codes) {
		r := b.row("missing", "count", rater...)
		r.Variable, r.Term = v.Name, code
		b.add(number(r, float64(codes[code]), ""))
	}
}

// long gathers rows of one rating by subject. Raters come in the order of the
// codebook, else of their names.
func (s *agreement) long(t *dataset.Table, b *builder) (*ratings, []int) {
	names, labels := s.rater.Levels(), s.rater.LevelLabels()
	if names == nil {
		for i := range t.Len() {
			if name, ok := levelText(t.Column(s.rater.Name), i); ok && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		slices.Sort(names)
		labels = names
	}
	type one struct {
		row    int
		values []*value.Value
		twice  bool
		torn   bool // its rows are of two clusters
	}
	var order []string
	subjects := map[string]*one{}
	missing := map[string]map[string]int{}
	unnamed := 0
	for i := range t.Len() {
		name, ok := levelText(t.Column(s.rater.Name), i)
		key, whole := subjectKey(t, s.subject, i)
		if !ok || !whole {
			unnamed++
			continue
		}
		of := subjects[key]
		if of == nil {
			of = &one{row: i, values: make([]*value.Value, len(names))}
			subjects[key] = of
			order = append(order, key)
		}
		if s.cluster != nil {
			column := t.Column(s.cluster.Name)
			of.torn = of.torn || column.Value(i).String() != column.Value(of.row).String()
		}
		k := slices.Index(names, name)
		of.twice = of.twice || of.values[k] != nil
		x := t.Column(s.ratings[0].Name).Value(i)
		of.values[k] = &x
		if x.Missing {
			if missing[name] == nil {
				missing[name] = map[string]int{}
			}
			missing[name][x.Code]++
		}
	}
	b.removed("rows", "the rater or the subject is missing", float64(unnamed))
	used := make([]bool, len(names)) // a rater of the codebook may have rated nobody
	for _, of := range subjects {
		for k, x := range of.values {
			used[k] = used[k] || x != nil
		}
	}
	r := &ratings{}
	for k, name := range names {
		if used[k] {
			v := s.ratings[0]
			v.Name, v.Label = name, labels[k]
			r.raters = append(r.raters, v)
			b.missingRatings(s.ratings[0], []result.Group{group(s.rater.Name, name)}, missing[name])
		}
	}
	var rows []int
	twice, torn, lacking, unrated := 0, 0, 0, 0
	for _, key := range order {
		of := subjects[key]
		var values []value.Value
		absent, coded := false, false
		for k, x := range of.values {
			switch {
			case !used[k]:
			case x == nil:
				absent = true
			case x.Missing:
				coded = true
			default:
				values = append(values, *x)
			}
		}
		switch {
		case of.twice:
			twice++
		case of.torn:
			torn++
		case absent:
			unrated++
		case coded:
			lacking++
		default:
			r.values, rows = append(r.values, values), append(rows, of.row)
		}
	}
	b.removed("subjects", "rated more than once by one rater", float64(twice))
	b.removed("subjects", "its ratings are of two clusters", float64(torn))
	b.removed("subjects", "not rated by every rater", float64(unrated))
	b.removed("subjects", "a rating is missing", float64(lacking))
	return r, rows
}

// subjectKey is the text that names a subject.
func subjectKey(t *dataset.Table, variables []cohort.Variable, row int) (key string, ok bool) {
	var parts []string
	for _, v := range variables {
		x := t.Column(v.Name).Value(row)
		if x.Missing {
			return "", false
		}
		parts = append(parts, x.String())
	}
	return strings.Join(parts, "\x00"), true
}

// number numbers the clusters of the subjects; those without one leave.
func (s *agreement) number(t *dataset.Table, b *builder, r *ratings, rows []int) {
	ids, ok := clusters(t.Column(s.cluster.Name), t.Len())
	var values [][]value.Value
	renumbered := map[int]int{}
	r.cluster = []int{}
	lacking := 0
	for i, row := range rows {
		if !ok[row] {
			lacking++
			continue
		}
		id, known := renumbered[ids[row]]
		if !known {
			id = len(renumbered)
			renumbered[ids[row]] = id
		}
		values, r.cluster = append(values, r.values[i]), append(r.cluster, id)
	}
	r.values = values
	b.removed("subjects", fmt.Sprintf("%s missing: the cluster is not known", s.cluster.Label), float64(lacking))
}

// warnOfSiblings warns where several subjects are of one child.
func (s *agreement) warnOfSiblings(c *cohort.Cohort, b *builder, rows []int) error {
	return (&proportion{table: s.table, participants: s.participants}).warnOfSiblings(c, b, rows)
}
