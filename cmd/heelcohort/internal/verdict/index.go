package verdict

import (
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
)

// An index finds rows.
type index struct {
	res      *result.Results
	at       map[string]*result.Row
	analysis map[string][]*result.Row
	kinds    map[string]*result.Analysis
	variants []*variant
}

// A Variant are results as another choice gives them.
type Variant struct {
	Kind    string // of the explanation
	Text    string // "with Breslow's handling of ties"
	Results *result.Results
}

type variant struct {
	Variant
	at map[string]*result.Row
}

func indexOf(res *result.Results) *index {
	ix := &index{res: res, at: map[string]*result.Row{}, analysis: map[string][]*result.Row{}, kinds: map[string]*result.Analysis{}}
	for i := range res.Rows {
		r := &res.Rows[i]
		ix.at[r.ID] = r
		ix.analysis[r.Analysis] = append(ix.analysis[r.Analysis], r)
	}
	for i := range res.Analyses {
		ix.kinds[res.Analyses[i].ID] = &res.Analyses[i]
	}
	return ix
}

// nearest is the address that is most like one that is not there.
func (ix *index) nearest(address string) string {
	var all []string
	for _, r := range ix.res.Rows {
		all = append(all, r.ID)
	}
	return document.Nearest(address, all)
}
