package rerun

import (
	"context"
	"fmt"

	"heelcohort/cmd/heelcohort/internal/delivery"
	"heelcohort/cmd/heelcohort/internal/run"
	"heelcohort/dataset"
)

// shownPlaces is how many differences of one sort are told one by one.
const shownPlaces = 5

// dataChanges tells what changed in the data: row by row where the data as
// recorded are at hand, else by file.
func (r *rerunner) dataChanges(ctx context.Context) {
	var changed []input
	for _, in := range r.inputs {
		if in.group == dataGroup && in.found != "" && in.changed() {
			changed = append(changed, in)
		}
	}
	if len(changed) == 0 {
		return
	}
	list, err := r.tables(ctx)
	if err != nil {
		for _, in := range changed {
			r.add(Change{Kind: DataFile, Place: in.name, Detail: "its SHA-256 is not the recorded one, and the data as recorded are not at hand to compare", group: dataGroup})
		}
		return
	}
	if len(list) == 0 {
		for _, in := range changed {
			r.add(Change{Kind: DataWritten, Place: in.name, Detail: "its bytes are others; no row and no cell that is read differs", group: dataGroup, order: true})
		}
		return
	}
	for _, c := range list {
		r.add(c)
	}
}

// tables compares the data as recorded with those of now, both read by the
// codebook as recorded.
func (r *rerunner) tables(ctx context.Context) ([]Change, error) {
	var both [2]*dataset.Dataset
	for i, now := range []bool{false, true} {
		dir, err := r.build(ctx, func(g group) bool { return now && g == dataGroup })
		if err != nil {
			return nil, err
		}
		_, pkg, err := run.Codebook(dir)
		if err != nil {
			return nil, err
		}
		d, findings, err := dataset.Open(ctx, dir, pkg, dataset.Options{})
		if err != nil {
			return nil, err
		}
		if _, err := dataset.Screen(ctx, d, findings); err != nil {
			return nil, err
		}
		both[i] = d
	}
	var list []Change
	for _, t := range delivery.Compare(both[0], both[1]).Tables {
		counts := map[string]int{}
		first := map[string]*Change{}
		var order []string
		for _, d := range t.Changes {
			counts[d.Sort]++
			c := first[d.Sort]
			if c == nil {
				kind, harmless := sortKind(d.Sort)
				c = &Change{Kind: kind, group: dataGroup, order: harmless}
				if c.Place = d.After.String(); c.Place == "" || d.Sort == delivery.RowRemoved {
					c.Place = d.Before.String() + " as recorded"
				}
				first[d.Sort], order = c, append(order, d.Sort)
			}
			if counts[d.Sort] <= shownPlaces {
				c.Detail += "; " + cellText(d)
			}
		}
		for _, sort := range order {
			c := first[sort]
			c.Detail = fmt.Sprintf("table %s, %s: %d%s", t.Name, sort, counts[sort], c.Detail)
			if counts[sort] > shownPlaces {
				c.Detail += "; …"
			}
			list = append(list, *c)
		}
	}
	return list, nil
}

// sortKind is the kind of a sort of difference, and whether it is one of order
// or spelling alone.
func sortKind(sort string) (kind string, order bool) {
	switch sort {
	case delivery.Changed:
		return DataCell, false
	case delivery.RowAdded:
		return RowAdded, false
	case delivery.RowRemoved:
		return RowDeleted, false
	case delivery.RowsMoved:
		return RowsReordered, true
	case delivery.Written:
		return DataWritten, true
	case delivery.ColumnsMoved:
		return DataColumns, true
	case delivery.ColumnAdded, delivery.ColumnRemoved:
		return DataColumns, false
	}
	return DataTable, false
}

// cellText is one difference in a line.
func cellText(d delivery.Change) string {
	text := d.Variable
	if d.Key != "" {
		if text != "" {
			text += " of "
		}
		text += d.Key
	}
	if place := d.After.Cell(); place != "" {
		text += " (" + place + ")"
	} else if place := d.Before.Cell(); place != "" {
		text += " (" + place + " as recorded)"
	}
	if d.Sort == delivery.Changed || d.Sort == delivery.Written {
		text += fmt.Sprintf(": %q → %q", d.Old, d.New)
	}
	return text
}
