package rerun

import (
	"context"
	"slices"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/result"
)

// explain lists the changes and finds for each row that does not hold which of
// them moved it.
func (r *rerunner) explain(ctx context.Context, fresh *result.Results) error {
	r.changes(ctx)
	r.methodChanges(fresh)
	if err := ctx.Err(); err != nil {
		return err
	}
	var changed []group
	for _, g := range allGroups {
		if slices.ContainsFunc(r.inputs, func(in input) bool { return in.group == g && in.changed() }) {
			changed = append(changed, g)
		}
	}
	moved := differing(r.report.Rows)
	// by is, for each group, the rows that it alone moves; of results and
	// program, the rows that the recorded inputs do not give.
	by := map[group]map[string]bool{}
	switch {
	case len(moved) == 0:
		r.report.Apart = true
	case len(changed) == 0:
		r.report.Apart = true
		by[resultsGroup] = moved
	default:
		baseline, err := r.variant(ctx, func(group) bool { return false })
		if err != nil {
			return err
		}
		if baseline == nil {
			break
		}
		r.report.Apart = true
		rows, _ := compare(r.stored, baseline, r.tolerance)
		by[resultsGroup] = differing(rows)
		for _, g := range changed {
			one := fresh
			if len(changed) > 1 {
				if one, err = r.variant(ctx, func(other group) bool { return other == g }); err != nil {
					return err
				}
			}
			if one == nil { // this alone cannot be computed
				r.report.Apart = false
				by[g] = moved
				continue
			}
			rows, _ := compare(baseline, one, r.tolerance)
			by[g] = differing(rows)
		}
	}
	if !r.report.Apart && len(by) == 0 {
		for _, g := range changed {
			by[g] = moved
		}
		if r.has(programGroup) || r.has(resultsGroup) {
			by[resultsGroup] = moved
		}
	}
	if len(by[resultsGroup]) > 0 && !r.has(programGroup) && !r.has(resultsGroup) {
		detail := "every digest is the recorded one, and yet the recorded inputs give other numbers: results and manifest were changed together, or the program was changed under the same version"
		r.add(Change{Kind: Unexplained, Place: publish.Folder + "/results.json", Detail: detail, group: resultsGroup})
	}
	r.label()
	r.assign(by, changed)
	return nil
}

func (r *rerunner) has(g group) bool {
	return slices.ContainsFunc(r.report.Changes, func(c Change) bool { return c.group == g })
}

// variant computes a mixture of recorded inputs and those of now; nil where it
// cannot be.
func (r *rerunner) variant(ctx context.Context, now func(group) bool) (*result.Results, error) {
	dir, err := r.build(ctx, now)
	if err == nil {
		var res *result.Results
		if res, err = r.results(ctx, dir); err == nil {
			return res, nil
		}
	}
	return nil, ctx.Err()
}

// assign gives each row that does not hold its causes.
func (r *rerunner) assign(by map[group]map[string]bool, changed []group) {
	for i := range r.report.Rows {
		row := &r.report.Rows[i]
		if row.Verdict == Within {
			continue
		}
		var causes []int
		for _, g := range append(slices.Clone(changed), programGroup, resultsGroup) {
			source := g
			if g == programGroup {
				source = resultsGroup
			}
			if by[source][row.ID] {
				causes = append(causes, r.likely(g, row.Analysis)...)
			}
		}
		if len(causes) == 0 { // no single sort of input moves it, but all together
			for _, g := range changed {
				causes = append(causes, r.likely(g, row.Analysis)...)
			}
		}
		for _, c := range causes {
			row.Causes = append(row.Causes, r.report.Changes[c].Label)
			r.report.Changes[c].Moved++
		}
	}
	data := 0
	for _, c := range r.report.Changes {
		if c.group == dataGroup {
			data += c.Moved
		}
	}
	for i := range r.report.Changes {
		if c := &r.report.Changes[i]; c.order && data == 0 {
			c.Harmless = true
		}
	}
}

// likely lists the changes of a group that can have moved a row of an analysis:
// of the plan those in the analysis or above all of them, before words those
// that are not only shown, of the data before an order those of content.
func (r *rerunner) likely(g group, analysis string) []int {
	filters := []func(c Change) bool{
		func(c Change) bool {
			return !c.wording && !c.order && (c.analysis == "" || c.analysis == analysis)
		},
		func(c Change) bool { return !c.wording && !c.order },
		func(Change) bool { return true },
	}
	for _, fits := range filters {
		var list []int
		for i, c := range r.report.Changes {
			if c.group == g && fits(c) {
				list = append(list, i)
			}
		}
		if len(list) > 0 {
			return list
		}
	}
	return nil
}

// Count is the number of files in a state.
func (r *Report) Count(status bundle.Status) int {
	n := 0
	for _, f := range r.Files {
		if f.Status == status {
			n++
		}
	}
	return n
}
