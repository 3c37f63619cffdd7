package report

import (
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// TestProductLabel names products of columns by labels, not by names.
func TestProductLabel(t *testing.T) {
	a := result.Analysis{ID: "a", Variables: []result.Variable{
		{Name: "sex", Label: "Sex", Levels: []result.Level{{Value: "m", Label: "Male"}}},
		{Name: "week", Label: "Planned week", Levels: []result.Level{{Value: "w8", Label: "Week 8"}}},
		{Name: "age", Label: "Age"},
	}}
	b := newBlock(&result.Results{Analyses: []result.Analysis{a}}, a)
	for _, c := range []struct{ variable, term, want string }{
		{"sex × week", "m × w8", "Sex × Planned week, Male × Week 8"},
		{"sex × age", "m", "Sex × Age, Male"},
		{"age × week", "w8", "Age × Planned week, Week 8"},
		{"age × age", "", "Age × Age"},
		{"age", "knot 2", ""},
	} {
		r := result.NewRow("a", "model", "coefficient")
		r.Variable, r.Term = c.variable, c.term
		if got := b.productLabel(&r); got != c.want {
			t.Errorf("%s, %s: %q, want %q", c.variable, c.term, got, c.want)
		}
	}
}
