package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

// TestIncidenceAccount wants the total first, the reasons indented and what is
// at risk last.
func TestIncidenceAccount(t *testing.T) {
	a := result.Analysis{ID: "table-2", Kind: "incidence", Title: "Spells"}
	res := &result.Results{Analyses: []result.Analysis{a}}
	for _, l := range []struct {
		term         string
		time, events float64
	}{{"read", 1170.5, 4}, {"within an episode", 40, 0}, {"outside the study window", 38.5, 2}, {"at risk and counted", 1092, 2}} {
		r := result.NewRow("table-2", "account", "person-time")
		r.Term, r.Unit, r.Estimate, r.Events = l.term, "hours", result.Number(l.time), result.Number(l.events)
		res.Rows = append(res.Rows, r)
	}
	sheets := sheetsOf(res, a)
	if len(sheets) != 1 || sheets[0].ID != "table-2-account" || sheets[0].Title != "Spells: person-time and events accounted for" {
		t.Fatalf("sheets %+v", sheets)
	}
	want := []string{
		" | Person-time, hours | Events",
		"Read (the sum of what follows) | 1,170.5 | 4",
		"  Not entered: within an episode | 40.0 | 0",
		"  Not entered: outside the study window | 38.5 | 2",
		"At risk and counted | 1,092.0 | 2",
	}
	if d := cmp.Diff(want, lines(sheets[0])); d != "" {
		t.Error(d)
	}
}
