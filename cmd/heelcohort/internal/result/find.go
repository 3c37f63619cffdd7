package result

import "slices"

// Find is the row with the given key; at is None() for a row without time. The
// order of groups matters, as it does in the row's address.
func (res *Results) Find(analysis, part string, groups []Group, variable, term, measure string, at Number) (Row, bool) {
	for _, r := range res.Rows {
		if r.Analysis == analysis && r.Part == part && r.Variable == variable && r.Term == term &&
			r.Measure == measure && sameNumber(r.At, at) && slices.Equal(r.Groups, groups) {
			return r, true
		}
	}
	return Row{}, false
}

// sameNumber reports whether two numbers are equal or both absent.
func sameNumber(a, b Number) bool {
	return a == b || !a.Present() && !b.Present()
}

// Of lists the rows of one analysis in their order; of one part of it unless
// part is "".
func (res *Results) Of(analysis, part string) []Row {
	var rows []Row
	for _, r := range res.Rows {
		if r.Analysis == analysis && (part == "" || r.Part == part) {
			rows = append(rows, r)
		}
	}
	return rows
}

// Analysis is the analysis with the given id.
func (res *Results) Analysis(id string) (Analysis, bool) {
	for _, a := range res.Analyses {
		if a.ID == id {
			return a, true
		}
	}
	return Analysis{}, false
}

// Variable is the analysis's variable with the given name.
func (a *Analysis) Variable(name string) (Variable, bool) {
	for _, v := range a.Variables {
		if v.Name == name {
			return v, true
		}
	}
	return Variable{}, false
}

// Observed is the term of the curve without a model, beside those of models.
const Observed = "as observed"
