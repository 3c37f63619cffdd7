package verdict

import (
	"slices"

	"heelcohort/cmd/heelcohort/internal/result"
)

// otherUnits puts the same row of other analyses in the place of the cell's:
// those that count by another unit first, such as heels for children.
func (t *trial) otherUnits() {
	first := t.cell[0].row
	own := t.ix.kinds[first.Analysis]
	if own == nil {
		return
	}
	for _, another := range []bool{true, false} {
		for i := range t.ix.res.Analyses {
			a := &t.ix.res.Analyses[i]
			if a.ID == first.Analysis || (a.Unit != own.Unit) != another || a.Kind != own.Kind {
				continue
			}
			kind, text := KindAnalysis, "the same row of "+a.ID
			if another {
				kind, text = KindUnit, "the row of "+a.ID+", which counts "+a.Unit+", not "+own.Unit
			}
			t.replace(kind, text, func(r *result.Row) *result.Row {
				o := *r
				o.Analysis = a.ID
				return t.ix.at[o.Address()]
			})
		}
	}
}

// variants puts the same row of results by another choice in the place of the
// cell's.
func (t *trial) variants() {
	for _, v := range t.ix.variants {
		t.replace(v.Kind, v.Text, func(r *result.Row) *result.Row { return v.at[r.ID] })
	}
}

// neighbours puts the next columns and rows of the same part in the place of
// the cell's.
func (t *trial) neighbours() {
	first := t.cell[0].row
	for _, o := range t.ix.analysis[first.Analysis] {
		if o.Part != first.Part || o.Variable != first.Variable || o.Measure != first.Measure || o == first || o.At != first.At && o.At.Present() {
			continue
		}
		sameGroups, sameTerm := slices.Equal(o.Groups, first.Groups), o.Term == first.Term
		if !sameGroups && !sameTerm {
			continue
		}
		text := "the result " + o.ID
		t.replace(KindNeighbour, text, func(r *result.Row) *result.Row {
			moved := *r
			moved.Groups = o.Groups
			if r.Variable == first.Variable && r.Term == first.Term {
				moved.Term = o.Term
			}
			return t.ix.at[moved.Address()]
		})
	}
}
